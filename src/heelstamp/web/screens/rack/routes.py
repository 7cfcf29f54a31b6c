"""Rack: what hangs in the shop, where each stands, what is due."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from heelstamp.shop import now
from heelstamp.shop.backup import backup_is_due, days_since_backup
from heelstamp.shop.due import due_at
from heelstamp.shop.rack import rack_sheet
from heelstamp.web.rendering import page, sees_sums, shop_of

router = APIRouter()
ROWS = 24


@router.get("/", response_class=HTMLResponse)
def rack(
    request: Request,
    find: Annotated[str, Query(max_length=100)] = "",
    sheet: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """Show the newest dossiers first, or those that hold every word of *find*."""
    shop = shop_of(request)
    shown = rack_sheet(shop, find, (sheet - 1) * ROWS, ROWS)
    sums = sees_sums(request)
    today = now()[:10]
    rows = [one for row in shown.rows for one in due_at(shop, row.tag, today)] if sums else []
    late = sorted((one for one in rows if one.late >= 0), key=lambda one: one.day)
    return page(
        request,
        "rack/rack.html",
        screen="rack",
        shown=shown,
        find=find,
        sheet=sheet,
        sheets=max(1, -(-shown.found // ROWS)),
        sums=sums,
        due=late,
        backup=days_since_backup(shop.folder),
        backup_due=backup_is_due(shop.folder),
    )
