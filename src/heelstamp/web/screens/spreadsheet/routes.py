"""Spreadsheet: a person's table looked at before it is taken, and the shop's tables to take away.

A table that was sent is held in memory until it is taken or newer ones need the room; nothing of it
is written before a person says so.
"""

from __future__ import annotations

from typing import Annotated, Any, get_args
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Form, Path, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.appraisal.comparables import ASPECTS
from heelstamp.casework.appraisal.sales_table import Holds
from heelstamp.casework.spreadsheet.reading import Declared
from heelstamp.errors import HeelstampError
from heelstamp.shop import now
from heelstamp.shop.comparables import SHEET_MAX
from heelstamp.shop.jobs import NoSuchJobError
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.spreadsheets import Told, declared_as, hold_table, look_at, take_in, told_of
from heelstamp.shop.tables import table_bytes, table_rows
from heelstamp.web.rendering import hand_of, page, shop_of
from heelstamp.web.screens.spreadsheet.forms import Given, Read

router = APIRouter()
Kind = Annotated[str, Path(pattern="^(sales|census|instruments)$")]
Key = Annotated[str, Path(pattern="^[0-9a-f]{24}$")]
SHOWN_PASSED = 40
MEDIA = {
    ".csv": "text/csv; charset=utf-8",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
HELD: tuple[str, ...] = (
    *(one for one in get_args(Holds) if one not in ("aspect", "ignore")),
    *(f"aspect: {one}" for one in ASPECTS),
    "ignore",
)


@router.post("/spreadsheet/{kind}")
def send(request: Request, kind: Kind, told: Annotated[Given, Form()]) -> Response:
    """Hold a spreadsheet, and lead to the look at it."""
    data, columns = told.table.file.read(SHEET_MAX + 1), told.columns
    mapped = None
    if columns is not None and columns.filename:
        mapped = columns.file.read(SHEET_MAX + 1), columns.filename
    name = told.table.filename or ""
    sent = told_of(kind, told.of, data, name, declared=Declared())
    job = hold_table(shop_of(request), sent, mapped)
    asked = urlencode({"of": told.of, "back": told.back})
    return RedirectResponse(f"/spreadsheet/{kind}/{job.key}?{asked}", 303)


@router.get("/spreadsheet/{kind}/{key}", response_class=HTMLResponse)
def looked(request: Request, kind: Kind, key: Key, read: Annotated[Read, Query()]) -> HTMLResponse:
    """Show ten rows with what was understood, and what may be declared."""
    shop, told = shop_of(request), _told(request, kind, key, read)
    found, refused = None, None
    try:
        found = look_at(shop, told)
    except HeelstampError as error:
        refused = error
    return page(
        request,
        "spreadsheet/spreadsheet.html",
        screen="spreadsheet",
        status=200 if refused is None else 422,
        kind=kind,
        key=key,
        name=told.name,
        read=read,
        look=found,
        refused=refused or (None if found is None else found.refused),
        mapped=told.columns is not None,
        **_choices(shop),
    )


@router.post("/spreadsheet/{kind}/{key}", response_class=HTMLResponse)
def taken(request: Request, kind: Kind, key: Key, read: Annotated[Read, Form()]) -> Response:
    """Take the spreadsheet, all or nothing."""
    told = _told(request, kind, key, read)
    count, understood = take_in(shop_of(request), told, by=hand_of(request))
    return page(
        request,
        "spreadsheet/taken.html",
        screen="spreadsheet",
        kind=kind,
        count=count,
        passed=understood.passed,
        most=SHOWN_PASSED,
        back=read.back,
        name=told.name,
    )


@router.get("/tables/{name}")
def table(
    request: Request,
    name: Annotated[str, Path(pattern=r"^[a-z]{1,20}\.(csv|xlsx)$")],
    of: Annotated[str, Query(max_length=100)] = "",
) -> Response:
    """Send one of the shop's tables, as CSV or XLSX by its name."""
    called, _, ending = name.partition(".")
    rows = table_rows(shop_of(request), called, of, now()[:10])
    headers = {
        "content-disposition": f'attachment; filename="{quote(called)}.{ending}"',
        "cache-control": "no-store",
    }
    data = table_bytes(rows, called, f".{ending}")
    return Response(data, media_type=MEDIA[f".{ending}"], headers=headers)


def _told(request: Request, kind: str, key: str, read: Read) -> Told:
    job = shop_of(request).jobs.find(key)
    if job is None or job.what != "table" or not job.finished or job.error is not None:
        raise NoSuchJobError(
            "this spreadsheet is no longer held",
            received=key,
            remedy="It was let go, or the bench was started again: send it anew.",
        )
    data, name, columns = job.result
    declared = declared_as(
        read.encoding, read.head_row, read.decimal_mark, read.date_order, read.currency.upper()
    )
    return told_of(
        kind,
        read.of,
        data,
        name,
        declared=declared,
        columns=columns,
        holds=read.holds,
        sale_kind=read.sale_kind,
    )


def _choices(shop: OpenShop) -> dict[str, Any]:
    return {
        "held": HELD,
        "encodings": ("utf-8", "utf-16", "windows-1252"),
        "marks": ((".", "a point"), (",", "a comma")),
        "orders": ("day first", "month first", "year first", "days counted"),
        "kinds": ("sold", "asking", "unsold"),
        "currency": shop.currency,
    }
