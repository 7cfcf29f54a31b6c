"""Makers: what is known of each, drawn with its census, and edited as new editions."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.chronology.blank import LOT_HABITS
from heelstamp.chronology.editing import with_change, with_row, with_table, without_row
from heelstamp.errors import InputError
from heelstamp.shop.census import census_here, points_at
from heelstamp.shop.makers import Edit as EditOf
from heelstamp.shop.makers import (
    begin,
    begin_blank,
    edit,
    editions_kept,
    kept_at,
    save_text,
    shelf_of,
    text_of,
)
from heelstamp.web.rendering import hand_of, page, shop_of
from heelstamp.web.screens.makers.forms import (
    Begun,
    Blank,
    Change,
    CurvePoint,
    Delay,
    Edit,
    Exceptional,
    Feature,
    Lot,
    Production,
    RowEdit,
    Serials,
    WholeText,
)
from heelstamp.web.screens.makers.view import feature_view, maker_view

router = APIRouter()
Done = Annotated[str, Query(max_length=100)]


@router.get("/makers", response_class=HTMLResponse)
def makers(request: Request) -> HTMLResponse:
    """List every chronology there is."""
    shelf = shelf_of(shop_of(request))
    kinds = sorted({one.chronology.kind for one in shelf if one.chronology is not None})
    return page(
        request, "makers/makers.html", screen="makers", shelf=shelf, kinds=kinds, lots=LOT_HABITS
    )


@router.post("/makers")
def begin_another(request: Request, told: Annotated[Begun, Form()]) -> Response:
    """Begin a chronology of another maker."""
    name, hand = told.name.strip(), hand_of(request)
    made = begin(shop_of(request), name, told.like, maker=told.maker, model=told.model, by=hand)
    return _back(made.id, "", f"edition {made.edition}")


@router.post("/makers/blank")
def begin_one_blank(request: Request, told: Annotated[Blank, Form()]) -> Response:
    """Begin a chronology of a maker of one's own."""
    shop, hand = shop_of(request), hand_of(request)
    made = begin_blank(shop, told.name.strip(), told.kind, told.known, by=hand)
    return _back(made.id, "", f"edition {made.edition}")


@router.get("/maker/{name}", response_class=HTMLResponse)
def maker(request: Request, name: str, done: Done = "") -> HTMLResponse:
    """Show one: its calendar, its features, and everything else it holds."""
    shop = shop_of(request)
    kept = kept_at(shop, name)
    assert kept.chronology is not None
    return page(
        request,
        "makers/maker.html",
        kept=kept,
        done=done,
        replaced=editions_kept(shop, name),
        census=census_here(shop, name),
        **maker_view(kept.chronology),
    )


@router.get("/maker/{name}/feature/{feature}", response_class=HTMLResponse)
def feature(request: Request, name: str, feature: str, done: Done = "") -> HTMLResponse:
    """Show one feature: its curve with the census on it, and the form for what was seen."""
    shop = shop_of(request)
    kept = kept_at(shop, name)
    assert kept.chronology is not None
    row = kept.chronology.feature(feature)
    if row is None:
        raise InputError("no such feature", where=name, received=feature, remedy="See the list.")
    view = feature_view(kept.chronology, row, points_at(shop, name, row.id))
    return page(request, "makers/change_over.html", kept=kept, done=done, **view)


@router.get("/maker/{name}/text", response_class=HTMLResponse)
def text(request: Request, name: str) -> HTMLResponse:
    """Show the whole text of the present edition, to be edited."""
    shop = shop_of(request)
    kept, whole = kept_at(shop, name), text_of(shop, name)
    return page(request, "makers/maker_text.html", kept=kept, it=kept.chronology, text=whole)


@router.post("/maker/{name}/text")
def put_text(request: Request, name: str, told: Annotated[WholeText, Form()]) -> Response:
    """Write a new edition from its whole text."""
    new = save_text(shop_of(request), name, told.text, base=told.base)
    return _back(name, "", f"edition {new.edition}")


@router.post("/maker/{name}/change")
def put_change(request: Request, name: str, told: Annotated[Change, Form()]) -> Response:
    """Write a new edition with what was seen of one change-over."""
    found = kept_at(shop_of(request), name).chronology
    row = None if found is None else found.feature(told.feature)
    seen = told.told(batch=row is not None and row.passing is not None)

    def change(document: Any) -> dict[str, Any]:
        return with_change(document, told.feature, told.place, seen)

    return _saved(request, name, change, told, below=f"feature/{quote(told.feature)}")


@router.post("/maker/{name}/feature")
def put_feature(request: Request, name: str, told: Annotated[Feature, Form()]) -> Response:
    """Write a new edition with one feature more."""
    return _saved(request, name, lambda it: with_row(it, "feature", None, told.row), told)


@router.post("/maker/{name}/curve")
def put_curve_point(request: Request, name: str, told: Annotated[CurvePoint, Form()]) -> Response:
    """Write a new edition with one point of the serial curve set, added, or taken out."""
    return _edited(request, name, "serial.knot", told, told.row)


@router.post("/maker/{name}/serials")
def put_serials(request: Request, name: str, told: Annotated[Serials, Form()]) -> Response:
    """Write a new edition with the scatter of the serial curve, and the numbers stamped twice."""
    row = told.row
    return _saved(request, name, lambda it: with_table(it, "serial", row), told)


@router.post("/maker/{name}/batch")
def put_batch(request: Request, name: str, told: Annotated[Lot, Form()]) -> Response:
    """Write a new edition with one lot of parts set, added, or taken out."""
    return _edited(request, name, "batch", told, told.row)


@router.post("/maker/{name}/exception")
def put_exception(request: Request, name: str, told: Annotated[Exceptional, Form()]) -> Response:
    """Write a new edition with one exception set, added, or taken out."""
    return _edited(request, name, "exception", told, told.row)


@router.post("/maker/{name}/delay")
def put_delay(request: Request, name: str, told: Annotated[Delay, Form()]) -> Response:
    """Write a new edition with the delay of one part, or of all parts without their own."""
    part = told.part.strip()

    def change(document: Any) -> dict[str, Any]:
        if not part:
            return with_table(document, "timing", told.row)
        keys = [one.get("key") for one in document.get("part", [])]
        if part not in keys:
            raise InputError("no such part", where=name, received=part, remedy="See the list.")
        row = {"lag": None} if told.shared else told.row
        return with_row(document, "part", keys.index(part), row)

    return _saved(request, name, change, told)


@router.post("/maker/{name}/production")
def put_production(request: Request, name: str, told: Annotated[Production, Form()]) -> Response:
    """Write a new edition with other years of production."""
    return _saved(request, name, lambda it: with_table(it, "production", told.row), told)


def _edited(
    request: Request, name: str, table: str, told: RowEdit, row: dict[str, Any]
) -> Response:
    def change(document: Any) -> dict[str, Any]:
        if not told.out:
            return with_row(document, table, told.place, row)
        if told.place is None:
            raise InputError("no row named to take out", where=table, remedy="Choose one.")
        return without_row(document, table, told.place)

    return _saved(request, name, change, told)


def _saved(request: Request, name: str, change: EditOf, told: Edit, *, below: str = "") -> Response:
    new = edit(
        shop_of(request), name, change, base=told.base, by=hand_of(request), edition=told.edition
    )
    return _back(name, below, f"edition {new.edition}")


def _back(name: str, below: str, done: str) -> RedirectResponse:
    path = f"/maker/{quote(name)}" + (f"/{below}" if below else "")
    return RedirectResponse(f"{path}?done={quote(done)}", 303)
