"""Due: what is due in the shop, on which day, and why; and the same as a calendar."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.calendar_file import calendar_text
from heelstamp.shop import now
from heelstamp.shop.due import AHEAD_DAYS, due_in
from heelstamp.web.rendering import page, shop_of

router = APIRouter()


@router.get("/due", response_class=HTMLResponse)
def due(request: Request, ahead: Annotated[int, Query(ge=0, le=3650)] = AHEAD_DAYS) -> HTMLResponse:
    """Show what is late, what is due today, and what is to come."""
    rows = due_in(shop_of(request), now()[:10], ahead=ahead)
    return page(
        request,
        "due/due.html",
        screen="due",
        late=[one for one in rows if one.late > 0],
        today=[one for one in rows if one.late == 0],
        ahead=[one for one in rows if one.late < 0],
        days=ahead,
    )


@router.get("/due.ics")
def feed(request: Request) -> Response:
    """Send all of it as iCalendar, for a general calendar to fetch."""
    shop, at = shop_of(request), now()
    text = calendar_text(due_in(shop, at[:10]), at=at, name=shop.name)
    headers = {"content-disposition": 'inline; filename="due.ics"', "cache-control": "no-store"}
    return Response(text, media_type="text/calendar; charset=utf-8", headers=headers)
