"""Chronologies: what is known of each maker, drawn with its census, and edited as new editions."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.chronology.change_view import change_view, change_views
from heelstamp.chronology.editing import pairs_of, with_change, with_row, with_table, without_row
from heelstamp.errors import InputError
from heelstamp.report.change_calendar import change_calendar_alt, change_calendar_svg
from heelstamp.report.change_over import change_over_alt, change_over_svg
from heelstamp.shop.census import census_here, points_at
from heelstamp.shop.makers import (
    Edit,
    begin,
    edit,
    editions_kept,
    kept_at,
    save_text,
    shelf_of,
    text_of,
)
from heelstamp.units import parse_month
from heelstamp.web.forms import Line, Number, Prose, Word
from heelstamp.web.rendering import desk_of, drawn, hand_of, page
from heelstamp.web.screens.makers.view import (
    RETROFITS,
    curve_lines,
    feature_lines,
    lag_lines,
    month_named,
    point_lines,
    sign_tables,
)

router = APIRouter()
Base = Annotated[str, Form(pattern="^([0-9a-f]{64})?$")]
Place = Annotated[int | None, Form(ge=0, le=100_000)]
Whole = Annotated[str, Form(max_length=900_000)]
Out = Annotated[bool, Form()]


@router.get("/chronologies", response_class=HTMLResponse)
def chronologies(request: Request) -> HTMLResponse:
    """List every chronology there is."""
    return page(
        request, "makers/makers.html", screen="chronologies", shelf=shelf_of(desk_of(request))
    )


@router.post("/chronologies")
def begin_another(request: Request, name: Word, like: Word, maker: Word, model: Word) -> Response:
    """Begin a chronology of another maker."""
    made = begin(
        desk_of(request), name.strip(), like, maker=maker, model=model, by=hand_of(request)
    )
    return _back(made.id, "", f"edition {made.edition}")


@router.get("/chronologies/{name}", response_class=HTMLResponse)
def chronology(
    request: Request, name: str, done: Annotated[str, Query(max_length=100)] = ""
) -> HTMLResponse:
    """Show one: its calendar, its features, and everything else it holds."""
    desk = desk_of(request)
    kept = kept_at(desk, name)
    found = kept.chronology
    assert found is not None
    views = change_views(found)
    span = parse_month(found.production.first), parse_month(found.production.last)
    return page(
        request,
        "makers/maker.html",
        kept=kept,
        it=found,
        done=done,
        replaced=editions_kept(desk, name),
        calendar=drawn(change_calendar_svg(views, span)) if views else "",
        calendar_words=change_calendar_alt(views),
        features=feature_lines(found),
        lags=lag_lines(found),
        signs=sign_tables(found),
        census=census_here(desk, name),
        named=month_named,
        retrofits=RETROFITS,
        parts=[one.key for one in found.parts],
    )


@router.get("/chronologies/{name}/feature/{feature}", response_class=HTMLResponse)
def feature(
    request: Request, name: str, feature: str, done: Annotated[str, Query(max_length=100)] = ""
) -> HTMLResponse:
    """Show one feature: its curve with the census on it, and the form for what was seen."""
    desk = desk_of(request)
    kept = kept_at(desk, name)
    found = kept.chronology
    assert found is not None
    row = found.feature(feature)
    if row is None:
        raise InputError("no such feature", where=name, received=feature, remedy="See the list.")
    points = points_at(desk, name, row.id)
    place = found.features.index(row)
    view = change_view(found, row.id, points)
    return page(
        request,
        "makers/change_over.html",
        kept=kept,
        it=found,
        row=row,
        done=done,
        view=view,
        drawing=drawn(change_over_svg(view)),
        words=change_over_alt(view),
        points=point_lines(points),
        curves=curve_lines(view),
        census=kept.census,
        exceptions=[one.text for one in found.exceptions if one.feature == row.id],
        named=month_named,
        before=found.features[place - 1] if place else None,
        after=found.features[place + 1] if place + 1 < len(found.features) else None,
    )


@router.get("/chronologies/{name}/text", response_class=HTMLResponse)
def text(request: Request, name: str) -> HTMLResponse:
    """Show the whole text of the present edition, to be edited."""
    desk = desk_of(request)
    kept = kept_at(desk, name)
    return page(
        request, "makers/maker_text.html", kept=kept, it=kept.chronology, text=text_of(desk, name)
    )


@router.post("/chronologies/{name}/text")
def put_text(request: Request, name: str, text: Whole, base: Base = "") -> Response:
    """Write a new edition from its whole text."""
    new = save_text(desk_of(request), name, text, base=base)
    return _back(name, "", f"edition {new.edition}")


@router.post("/chronologies/{name}/change")
def put_change(
    request: Request,
    name: str,
    feature: Word,
    place: Annotated[int, Form(ge=0, le=1000)] = 0,
    first: Word = "",
    last: Word = "",
    width: Number = None,
    share: Number = None,
    source: Line = "",
    unlearn: Out = False,
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with what was seen of one change-over."""
    desk = desk_of(request)
    found = kept_at(desk, name).chronology
    row = None if found is None else found.feature(feature)
    batch = row is not None and row.passing is not None
    told: dict[str, Any] = {
        "first" if batch else "first_new": first.strip(),
        "last" if batch else "last_old": last.strip(),
        "edge" if batch else "width": width,
        "source": source.strip() or None,
    }
    if batch:
        told["share"] = share
    if unlearn:
        told["learned"] = None
    new = edit(
        desk,
        name,
        lambda document: with_change(document, feature, place, told),
        base=base,
        by=hand_of(request),
        edition=edition,
    )
    return _back(name, f"feature/{quote(feature)}", f"edition {new.edition}")


@router.post("/chronologies/{name}/feature")
def put_feature(
    request: Request,
    name: str,
    feature: Word,
    called: Line,
    part: Word,
    old: Line,
    fresh: Line,
    first: Word,
    last: Word,
    seen_from: Word,
    retrofit: Word = "easy",
    source: Line = "",
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with one feature more."""
    row = {
        "id": feature.strip(),
        "name": called.strip(),
        "parts": [part.strip()],
        "variants": [old.strip(), fresh.strip()],
        "change": [{"first_new": first.strip(), "last_old": last.strip()}],
        "retrofit": retrofit,
        "seen_from": seen_from.strip(),
        "source": source.strip() or None,
    }
    return _edited(request, name, "feature", None, row, base=base, edition=edition)


@router.post("/chronologies/{name}/knot")
def put_knot(
    request: Request,
    name: str,
    place: Place = None,
    prefix: Word = "",
    number: Annotated[int, Form(ge=0, le=10**12)] = 0,
    month: Word = "",
    out: Out = False,
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with one knot of the serial curve set, added, or taken out."""
    row = {"prefix": prefix.strip(), "number": number, "month": month.strip()}
    return _edited(
        request, name, "serial.knot", place, None if out else row, base=base, edition=edition
    )


@router.post("/chronologies/{name}/serials")
def put_serials(
    request: Request,
    name: str,
    spread: Annotated[float, Form(allow_inf_nan=False)],
    duplicated: Prose = "",
    source: Line = "",
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with the scatter of the serial curve, and the numbers stamped twice."""
    told = {"spread_months": spread, "duplicated": pairs_of(duplicated), "source": source.strip()}
    return _saved(
        request,
        name,
        lambda document: with_table(document, "serial", told),
        base=base,
        edition=edition,
    )


@router.post("/chronologies/{name}/batch")
def put_batch(
    request: Request,
    name: str,
    place: Place = None,
    parts: Line = "",
    share: Number = None,
    out: Out = False,
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with one lot of parts set, added, or taken out."""
    row = {"parts": [one.strip() for one in parts.split(",") if one.strip()], "share": share}
    return _edited(request, name, "batch", place, None if out else row, base=base, edition=edition)


@router.post("/chronologies/{name}/exception")
def put_exception(
    request: Request,
    name: str,
    place: Place = None,
    feature: Word = "",
    said: Line = "",
    out: Out = False,
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with one exception set, added, or taken out."""
    row = {"text": said.strip(), "feature": feature.strip()}
    return _edited(
        request, name, "exception", place, None if out else row, base=base, edition=edition
    )


@router.post("/chronologies/{name}/lag")
def put_lag(
    request: Request,
    name: str,
    mean: Annotated[float, Form(allow_inf_nan=False)],
    sd: Annotated[float, Form(allow_inf_nan=False)],
    tail_weight: Annotated[float, Form(allow_inf_nan=False)],
    tail_max: Annotated[int, Form(ge=0, le=10_000)],
    edition: Word = "",
    base: Base = "",
) -> Response:
    """Write a new edition with the lag of parts without their own."""
    lag = {"mean": mean, "sd": sd, "tail_weight": tail_weight, "tail_max": tail_max}
    return _saved(
        request,
        name,
        lambda document: with_table(document, "timing", {"lag": lag}),
        base=base,
        edition=edition,
    )


def _edited(
    request: Request,
    name: str,
    table: str,
    place: int | None,
    row: dict[str, Any] | None,
    *,
    base: str,
    edition: str,
) -> Response:
    """Set, add or take out one row; *row* None takes out."""

    def change(document: Any) -> dict[str, Any]:
        if row is not None:
            return with_row(document, table, place, row)
        if place is None:
            raise InputError("no row named to take out", where=table, remedy="Choose one.")
        return without_row(document, table, place)

    return _saved(request, name, change, base=base, edition=edition)


def _saved(request: Request, name: str, change: Edit, *, base: str, edition: str) -> Response:
    new = edit(desk_of(request), name, change, base=base, by=hand_of(request), edition=edition)
    return _back(name, "", f"edition {new.edition}")


def _back(name: str, below: str, done: str) -> RedirectResponse:
    path = f"/chronologies/{quote(name)}" + (f"/{below}" if below else "")
    return RedirectResponse(f"{path}?done={quote(done)}", 303)
