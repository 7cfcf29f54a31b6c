"""Rack: what hangs in the shop, where each stands, what is due."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from heelstamp.shop.backup import backup_is_due, days_since_backup
from heelstamp.shop.rack import rack_sheet
from heelstamp.web.rendering import desk_of, page, sees_sums

router = APIRouter()
ROWS = 24


@router.get("/", response_class=HTMLResponse)
def rack(
    request: Request,
    find: Annotated[str, Query(max_length=100)] = "",
    sheet: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """Show the newest dossiers first, or those that hold every word of *find*."""
    desk = desk_of(request)
    shown = rack_sheet(desk, find, (sheet - 1) * ROWS, ROWS)
    return page(
        request,
        "rack/rack.html",
        screen="rack",
        shown=shown,
        find=find,
        sheet=sheet,
        sheets=max(1, -(-shown.found // ROWS)),
        sums=sees_sums(request),
        backup=days_since_backup(desk.folder),
        backup_due=backup_is_due(desk.folder),
    )
