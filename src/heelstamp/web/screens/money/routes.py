"""Money: three numbers apart, what is behind them, and what stands before an advertisement.

The price is worked out when the page is opened (a fifth of a second, then remembered); what each
inspection would clear up takes longer and is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.appraisal.entering import valued_entries
from heelstamp.errors import InputError
from heelstamp.shop import now
from heelstamp.shop.agreement import PICTURE_MAX, AgreementView, agreement_view, keep_form, sign
from heelstamp.shop.clearance import enter_cleared
from heelstamp.shop.comparables import SHEET_MAX, add_sale, add_sales, correct_sale, table_sent
from heelstamp.shop.price_path import choose_path
from heelstamp.shop.prices import priced
from heelstamp.shop.statements import statement_pdf
from heelstamp.shop.terms import agree, keep_terms, terms_here
from heelstamp.valuation.settlement import SCHEMES
from heelstamp.web.at_bench import AtBench
from heelstamp.web.guard import policy
from heelstamp.web.screens.money.forms import (
    Agreed,
    AgreementFields,
    ChosenPath,
    Cleared,
    Comparable,
    Comparables,
    CorrectedSale,
    Signature,
    TermsText,
    Valued,
)
from heelstamp.web.screens.money.view import looks_at, money_view, path_view, sale_view

router = APIRouter()
SCREEN = "money"
Offer = Annotated[str, Query(max_length=40)]
Routes = Annotated[list[str], Query(max_length=4)]
Rate = Annotated[str, Query(pattern=r"^([0-9]{1,5}(\.[0-9]{1,4})?)?$")]


@router.get("/dossier/{tag}/money", response_class=HTMLResponse)
def money(
    here: AtBench,
    offer: Offer = "",
    to: Routes = [],  # noqa: B006 - copied for each request
    looked: bool = False,
    rate: Rate = "",
    path: bool = False,
    added: Annotated[int, Query(ge=0, le=200_000)] = 0,
) -> HTMLResponse:
    """Show the three figures and all that is behind them."""
    return here.page(
        "money/money.html",
        SCREEN,
        **money_view(here.shop, here.tag, offer.strip(), to),
        **path_view(here.shop, here.tag, now()[:10], looked=path),
        added=added,
        rate=rate,
        looks=looks_at(here.shop, here.tag, rate) if looked else None,
    )


@router.get("/dossier/{tag}/money/statement.pdf")
def statement(here: AtBench, offer: Offer = "") -> Response:
    """Send the consignor's page."""
    headers = {
        "content-disposition": f'inline; filename="{here.tag}-statement.pdf"',
        "cache-control": "no-store",
        "content-security-policy": policy(**{"object-src": "'self'"}),
    }
    found = priced(here.shop, here.tag, offer.strip())
    if found.refused is not None:
        raise found.refused
    if found.page is None:
        raise InputError(
            "a statement needs terms of consignment",
            where=here.tag,
            remedy="Write them under Money, Terms of consignment.",
        )
    data = statement_pdf(found.page, demonstration=here.subject.chronology.invented)
    return Response(data, media_type="application/pdf", headers=headers)


@router.get("/dossier/{tag}/money/terms", response_class=HTMLResponse)
def terms(here: AtBench, path: bool = False) -> HTMLResponse:
    """Show the agreement that holds for a dossier as a form, what it nets, and who signed it."""
    return _terms_page(here, agreement_view(here.shop, here.tag), path=path)


@router.get("/dossier/{tag}/money/terms/text", response_class=HTMLResponse)
def terms_text(here: AtBench) -> HTMLResponse:
    """Show the terms as their whole text, to be changed."""
    return here.page("money/terms_text.html", SCREEN, held=terms_here(here.shop, here.tag))


@router.post("/dossier/{tag}/money/terms/form", response_class=HTMLResponse)
def put_form(here: AtBench, told: Annotated[AgreementFields, Form()]) -> Response:
    """Keep an agreement from its form as a new one, or show what it would net."""
    if told.whose == "look":
        view = agreement_view(here.shop, here.tag, form=told.form, prices=told.price)
        return _terms_page(here, view, prices=told.price)
    keep_form(
        here.shop,
        here.tag,
        told.form,
        base=told.base,
        whole_shop=told.whose == "shop",
        id_=told.stamp("w").id,
        by=here.hand,
    )
    return here.back("money/terms")


@router.post("/dossier/{tag}/money/terms/path")
def put_path(here: AtBench, told: Annotated[ChosenPath, Form()]) -> Response:
    """Keep terms with the better path of prices: a new agreement, not signed yet."""
    id_ = told.stamp("w").id
    choose_path(here.shop, here.tag, now()[:10], base=told.base, id_=id_, by=here.hand)
    return here.back("money/terms")


@router.post("/dossier/{tag}/money/terms/signed")
def put_signature(here: AtBench, told: Annotated[Signature, Form()]) -> Response:
    """Enter a signature under the terms that hold."""
    picture = None
    if told.picture is not None and told.picture.filename:
        picture = told.picture.file.read(PICTURE_MAX + 1), told.picture.filename
    sign(
        here.shop,
        here.tag,
        told.stamp("w"),
        role=told.role,
        day=told.day,
        base=told.base,
        strokes=told.strokes,
        picture=picture,
        by=here.hand,
    )
    return here.back("money/terms")


def _terms_page(
    here: AtBench, view: AgreementView, prices: Sequence[str] = (), *, path: bool = False
) -> HTMLResponse:
    return here.page(
        "money/terms.html",
        SCREEN,
        **path_view(here.shop, here.tag, now()[:10], looked=path),
        view=view,
        held=view.held,
        currency=here.shop.currency,
        schemes=SCHEMES,
        asked=[*prices, "", "", ""][:3],
        looked=bool(prices),
    )


@router.post("/dossier/{tag}/money/terms")
def put_terms(here: AtBench, told: Annotated[TermsText, Form()]) -> Response:
    """Keep terms from their whole text."""
    keep_terms(
        here.shop,
        here.tag,
        told.text,
        base=told.base,
        whole_shop=told.whose == "shop",
        id_=told.stamp("w").id,
        by=here.hand,
    )
    return here.back(SCREEN)


@router.post("/dossier/{tag}/money/agreed")
def put_agreed(here: AtBench, told: Annotated[Agreed, Form()]) -> Response:
    """Keep the sums and the day that were agreed for this instrument."""
    agreed, id_ = told.fields("base"), told.stamp("w").id
    agree(here.shop, here.tag, agreed, base=told.base, id_=id_, by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/money/valued")
def valued(here: AtBench, told: Annotated[Valued, Form()]) -> Response:
    """Enter what bears on the price."""
    currency = here.shop.currency
    here.enter(valued_entries(here.state, told.stamp("w"), currency, **told.fields()))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/money/cleared")
def cleared(here: AtBench, told: Annotated[Cleared, Form()]) -> Response:
    """Enter what was done before an advertisement."""
    enter_cleared(here.shop, here.tag, told.stamp("w"), by=here.hand, **told.fields())
    return here.back(SCREEN)


@router.post("/dossier/{tag}/money/comparable")
def comparable(here: AtBench, told: Annotated[Comparable, Form()]) -> Response:
    """Keep one comparable."""
    add_sale(here.shop, here.subject.chronology.id, told.row, id_=told.stamp("s").id)
    return here.back(SCREEN)


@router.get("/dossier/{tag}/money/comparable", response_class=HTMLResponse)
def held_comparable(here: AtBench, sale: Annotated[str, Query(max_length=100)]) -> HTMLResponse:
    """Show one comparable, all that was said of it, and a form that corrects it."""
    told = sale_view(here.shop, here.subject.chronology.id, sale)
    return here.page("money/comparable.html", SCREEN, **told)


@router.post("/dossier/{tag}/money/comparable/corrected")
def corrected(
    here: AtBench,
    told: Annotated[CorrectedSale, Form()],
    sale: Annotated[str, Query(max_length=100)],
) -> Response:
    """Correct a comparable, or take it away."""
    market, row = here.subject.chronology.id, None if told.withdrawn else told.row
    correct_sale(here.shop, market, sale, row, reason=told.reason, stamp=told.stamp("s").id)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/money/comparables")
def comparables(here: AtBench, told: Annotated[Comparables, Form()]) -> Response:
    """Keep a spreadsheet of comparables, all or none."""
    data, name = told.table.file.read(SHEET_MAX + 1), told.table.filename or ""
    added = add_sales(here.shop, here.subject.chronology.id, table_sent(data, name))
    return here.back(SCREEN, added=str(len(added.rows)))
