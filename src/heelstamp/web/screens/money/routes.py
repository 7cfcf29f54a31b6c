"""Money: three numbers apart, what is behind them, and what stands before an advertisement.

The price is worked out when the page is opened (a fifth of a second, then remembered); what each
inspection would clear up takes longer and is asked for.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.appraisal.entering import (
    CHOICES,
    NOTHING_FOUND,
    ROUTES,
    WORDS_OF,
    driver_rows,
    looks,
    said_last,
    sale_rows,
    three_figures,
    valued_acts,
)
from heelstamp.casework.census.sheet import TableError
from heelstamp.errors import InputError
from heelstamp.report.price_pictures import (
    distribution_alt,
    distribution_svg,
    drivers_svg,
    index_svg,
)
from heelstamp.shop.clearance import clear, enter_cleared
from heelstamp.shop.comparables import SHEET_MAX, add_sale, add_sales, table_sent
from heelstamp.shop.planning import next_look
from heelstamp.shop.prices import priced
from heelstamp.shop.statements import statement_pdf
from heelstamp.shop.terms import agree, keep_terms, offer_stands, terms_here
from heelstamp.web.forms import Id, Line, Made, Prose, Word, back, slip
from heelstamp.web.guard import policy
from heelstamp.web.rendering import desk_of, drawn, hand_of, page, partial

router = APIRouter()
SCREEN = "money"
MOST_SHOWN = 300
"""Comparables in a table of the page, the latest."""

Base = Annotated[str, Form(pattern="^([0-9a-f]{64})?$")]
Offer = Annotated[str, Query(max_length=40)]
Routes = Annotated[list[str], Query(max_length=4)]
Rate = Annotated[str, Query(pattern=r"^([0-9]{1,5}(\.[0-9]{1,4})?)?$")]


@router.get("/dossier/{tag}/money", response_class=HTMLResponse)
def money(
    request: Request,
    tag: str,
    offer: Offer = "",
    to: Routes = [],  # noqa: B006 - copied for each request
    looked: bool = False,
    rate: Rate = "",
    added: Annotated[int, Query(ge=0, le=200_000)] = 0,
) -> HTMLResponse:
    """Show the three figures and all that is behind them."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    asked = offer.strip()
    found = priced(desk, tag, asked)
    finding = found.finding
    sold, asking = sale_rows(found.rows, finding)
    labels = {part.key: part.label for part in subject.tree}
    return page(
        request,
        "money/money.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        priced=found,
        finding=finding,
        offer=asked,
        added=added,
        sold=sold,
        asking=asking,
        labels=labels,
        three=None if finding is None else three_figures(finding),
        stands=offer_stands(desk, tag, asked) if asked and finding is not None else "",
        drivers=[] if finding is None else driver_rows(finding.drivers, found.currency),
        distribution="" if finding is None else drawn(distribution_svg(finding, title="")),
        distribution_words="" if finding is None else distribution_alt(finding),
        moved="" if finding is None else drawn(drivers_svg(finding, title="")),
        index=None if finding is None else drawn(index_svg(finding, title="")),
        words_of=WORDS_OF,
        choices=CHOICES,
        routes=ROUTES,
        to=[one for one in to if one in ROUTES],
        clearance=clear(desk, subject, to),
        no_hit=NOTHING_FOUND,
        rate=rate,
        most=MOST_SHOWN,
        said=said_last(subject.state, found.currency),
        looks=_looks(request, tag, rate) if looked else None,
    )


@router.get("/dossier/{tag}/money/looks", response_class=HTMLResponse)
def money_looks(request: Request, tag: str, rate: Rate = "") -> Response:
    """Show what each inspection would clear up; a page without scripts gets the whole screen."""
    if not partial(request):
        return back(tag, SCREEN, looked="true", rate=rate)
    return page(
        request,
        "money/looks.html",
        tag=tag,
        looks=_looks(request, tag, rate),
        rate=rate,
        currency=desk_of(request).currency,
    )


def _looks(request: Request, tag: str, rate: str) -> object:
    desk = desk_of(request)
    return looks(next_look(desk, tag), desk.currency, float(rate or 0))


@router.get("/dossier/{tag}/money/statement.pdf")
def statement(request: Request, tag: str, offer: Offer = "") -> Response:
    """Give the consignor's page."""
    headers = {
        "content-disposition": f'inline; filename="{tag}-statement.pdf"',
        "cache-control": "no-store",
        "content-security-policy": policy(**{"object-src": "'self'"}),
    }
    desk = desk_of(request)
    found = priced(desk, tag, offer.strip())
    if found.refused is not None:
        raise found.refused
    if found.page is None:
        raise InputError(
            "a statement needs terms of consignment",
            where=tag,
            remedy="Write them under Money, Terms of consignment.",
        )
    demonstration = desk.subject(tag).chronology.invented
    data = statement_pdf(found.page, demonstration=demonstration)
    return Response(data, media_type="application/pdf", headers=headers)


@router.get("/dossier/{tag}/money/terms", response_class=HTMLResponse)
def terms(request: Request, tag: str) -> HTMLResponse:
    """Show the terms of consignment that hold for a dossier, to be changed."""
    desk = desk_of(request)
    return page(
        request,
        "money/terms.html",
        tag=tag,
        screen=SCREEN,
        subject=desk.subject(tag),
        held=terms_here(desk, tag),
        currency=desk.currency,
    )


@router.post("/dossier/{tag}/money/terms")
def put_terms(
    request: Request,
    tag: str,
    text: Annotated[str, Form(max_length=100_000)],
    whose: Word,
    base: Base = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Keep terms from their whole text, for this dossier or for the shop."""
    keep_terms(
        desk_of(request),
        tag,
        text,
        base=base,
        whole_shop=whose == "shop",
        id_=slip("w", id, made).id,
        by=hand_of(request),
    )
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/money/agreed")
def put_agreed(
    request: Request,
    tag: str,
    start: Word = "",
    reserve: Word = "",
    floor_net: Word = "",
    received: Word = "",
    base: Base = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep the sums and the day that were agreed for this instrument."""
    told = {"start": start, "reserve": reserve, "floor_net": floor_net, "received": received}
    agree(desk_of(request), tag, told, base=base, id_=slip("w", id, made).id, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/money/valued")
def valued(
    request: Request,
    tag: str,
    about: Word,
    decided: Word = "",
    reason: Line = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter what bears on the price: condition, colour, case, the value agreed, the price paid."""
    desk = desk_of(request)
    acts = valued_acts(
        desk.subject(tag).state,
        slip("w", id, made),
        desk.currency,
        about=about,
        decided=decided,
        reason=reason,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/money/cleared")
def cleared(
    request: Request,
    tag: str,
    matter: Word,
    about: Line = "",
    decided: Prose = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter what was searched, noted, compared or answered before an advertisement."""
    enter_cleared(
        desk_of(request),
        tag,
        slip("w", id, made),
        matter=matter,
        about=about,
        decided=decided,
        by=hand_of(request),
    )
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/money/comparable")
def comparable(
    request: Request,
    tag: str,
    month: Word,
    kind: Word,
    price: Word,
    venue: Word = "",
    year: Word = "",
    grade: Word = "",
    finish: Word = "",
    pickups: Word = "",
    others: Word = "",
    neck: Word = "",
    neck_seen: Word = "",
    case: Word = "",
    colour: Word = "",
    weight: Word = "",
    source: Line = "",
    note: Prose = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep one comparable."""
    told = {
        "month": month,
        "kind": kind,
        "price": price,
        "venue": venue,
        "made": year,
        "grade": grade,
        "finish": finish,
        "pickups": pickups,
        "others": others,
        "neck": neck,
        "neck seen": neck_seen,
        "case": case,
        "colour": colour,
        "weight": weight,
        "source": source,
        "note": note,
    }
    desk = desk_of(request)
    try:
        add_sale(desk, desk.subject(tag).chronology.id, told, id_=slip("s", id, made).id)
    except TableError as error:
        return page(request, "learning/table_refused.html", status=422, error=error)
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/money/comparables")
def comparables(request: Request, tag: str, table: Annotated[UploadFile, File()]) -> Response:
    """Keep a spreadsheet of comparables, all or none."""
    desk = desk_of(request)
    try:
        sent = table_sent(table.file.read(SHEET_MAX + 1), table.filename or "")
        added = add_sales(desk, desk.subject(tag).chronology.id, sent)
    except TableError as error:
        return page(request, "learning/table_refused.html", status=422, error=error)
    return back(tag, SCREEN, added=str(len(added.rows)))
