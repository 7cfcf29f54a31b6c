"""Rack: what hangs in the shop, where each stands, what is due."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from heelstamp.shop import now
from heelstamp.shop.backup import backup_is_due, days_since_backup
from heelstamp.shop.due import due_in
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
    rows = due_in(shop, now()[:10], ahead=0) if sums and sheet == 1 and not find else []
    return page(
        request,
        "rack/rack.html",
        screen="rack",
        shown=shown,
        find=find,
        sheet=sheet,
        sheets=max(1, -(-shown.found // ROWS)),
        sums=sums,
        due=[one for one in rows if one.kind != "backup"],
        backup=days_since_backup(shop.folder),
        backup_due=backup_is_due(shop.folder),
    )
