"""Rack: what hangs in the shop, where each stands, what is due."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from heelstamp.web.rendering import desk_of, page

router = APIRouter()
ROWS = 24


@router.get("/", response_class=HTMLResponse)
def rack(
    request: Request,
    find: Annotated[str, Query(max_length=40)] = "",
    sheet: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """Show the newest dossiers first, or those whose tag holds *find*."""
    found, rows = desk_of(request).rack(find, (sheet - 1) * ROWS, ROWS)
    return page(
        request,
        "rack/rack.html",
        screen="rack",
        rows=rows,
        found=found,
        find=find,
        sheet=sheet,
        sheets=max(1, -(-found // ROWS)),
    )
