"""Money at the desk: a price remembered as long as nothing it rests on changed, comparables added.

A price rests on the dossier, the chronology, the shop's comparables, its market and terms, and the
month: all of them are in the key under which it is remembered.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from heelstamp.shop.appraisals import (
    MARKET_FILE,
    Asked,
    appraise,
    kept_sales,
    terms_for,
    terms_path,
)
from heelstamp.shop.clearances import clear
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.folder import now
from heelstamp.shop.statements import statement_page, statement_pdf
from heelstamp.errors import ConflictError, HeelstampError, InputError

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.clearance import Clearance
    from heelstamp.casework.appraisal.comparables import Comparable
    from heelstamp.casework.appraisal.consignor_page import ConsignorPage
    from heelstamp.casework.appraisal.finding import PriceFinding
    from heelstamp.casework.census.sheet import Sheet
    from heelstamp.casework.inspections import Plan

SHEET_MAX = 5_000_000
"""Largest spreadsheet that the bench reads, bytes."""

ROWS_MAX = 20_000
"""Rows of it."""


@dataclass(frozen=True)
class PricedHere:
    """What can be said of the price of a dossier.

    Attributes
    ----------
    finding
        None where there is none; ``refused`` then says why.
    page
        The consignor's page, where the shop has terms.
    floor
        Reserve, floor and least price, as text.
    """

    rows: Sequence[Comparable]
    finding: PriceFinding | None
    refused: HeelstampError | None
    page: ConsignorPage | None
    floor: tuple[tuple[str, str], ...]
    currency: str


def price_at(desk: OpenShop, tag: str, offer: str = "") -> PricedHere:
    """Price a dossier, at what was offered for it where that is given."""
    subject = desk.subject(tag)
    rows = kept_sales(desk, subject.chronology.id)
    stamp = _stamp(desk, tag, len(rows), offer)
    return desk.remembered(stamp, tag, lambda: _priced(desk, tag, rows, offer))


def _stamp(desk: OpenShop, tag: str, count: int, offer: str) -> str:
    files = []
    for path in (desk.folder / MARKET_FILE, terms_path(desk.folder, tag)):
        if path is not None and path.is_file():
            stat = path.stat()
            files.append((path.name, stat.st_mtime_ns, stat.st_size))
    return repr(("price", count, offer, files, now()[:7], desk.subject(tag).chronology.digest))


def _priced(desk: OpenShop, tag: str, rows: list[Comparable], offer: str) -> PricedHere:
    subject, currency = desk.subject(tag), desk.currency
    try:
        asked = Asked(offer=offer or None)
        finding = appraise(subject, desk.folder, asked, None)
    except InputError as error:
        return PricedHere(rows, None, error, None, (), currency)
    page = None
    if finding.settlement is not None:
        page = statement_page(subject, desk.folder, None, finding)
    return PricedHere(rows, finding, None, page, _floor(desk, tag), finding.market.currency)


def _floor(desk: OpenShop, tag: str) -> tuple[tuple[str, str], ...]:
    terms = terms_for(desk.folder, None, tag)
    if terms is None:
        return ()
    told = []
    if terms.reserve is not None:
        told.append(("Reserve: below it nothing is sold without asking", str(terms.reserve)))
    if terms.document.floor_net is not None:
        floor = f"{terms.document.floor_net} {terms.document.currency}"
        told.append(("What the consignor wants to be left with", floor))
    if terms.least_price is not None:
        told.append(("Least price that leaves them that", terms.least_price.exact()))
    return tuple(told)


def standing_of_offer(desk: OpenShop, tag: str, offer: str) -> str:
    """Say how an offer stands to reserve and floor; empty without terms.

    Raises
    ------
    InputError
        Not an amount of money.
    """
    from heelstamp.valuation.money import Money

    terms = terms_for(desk.folder, None, tag)
    if terms is None:
        return ""
    currency = terms.document.currency
    return terms.offer(Money.parse(offer.removesuffix(currency).strip(), currency))[1]


def statement_at(desk: OpenShop, tag: str, offer: str) -> bytes:
    """Typeset the consignor's page.

    Raises
    ------
    InputError
        There is no price, or there are no terms of consignment.
    """
    priced = price_at(desk, tag, offer)
    if priced.refused is not None:
        raise priced.refused
    if priced.page is None:
        raise InputError(
            "a statement needs terms of consignment",
            where=tag,
            remedy="Write them under Money, Terms of consignment.",
        )
    return statement_pdf(priced.page, demonstration=desk.subject(tag).chronology.invented)


def plan_with_money(desk: OpenShop, tag: str) -> Plan:
    """Plan the next inspection with what each would clear up in money; seconds, so ask for it."""
    from heelstamp.shop.subjects import plan_of

    subject = desk.subject(tag)
    count = len(desk.comparables.rows(subject.chronology.id))
    stamp = f"plan with money {_stamp(desk, tag, count, '')}"
    return desk.remembered(stamp, tag, lambda: plan_of(subject))


def clearance_at(desk: OpenShop, tag: str, routes: Sequence[str]) -> Clearance:
    """Tell what stands before an advertisement, on these routes."""
    return clear(desk.subject(tag), desk.folder, list(routes))


def add_sale(desk: OpenShop, tag: str, told: Mapping[str, str], *, id_: str) -> None:
    """Keep one comparable of a form; what a device sends twice is kept once.

    Raises
    ------
    TableError
        A field cannot be used, or the same sale is kept already.
    """
    from heelstamp.casework.appraisal.sales_table import comparables_from
    from heelstamp.casework.appraisal.entering import sale_sheet

    market = desk.subject(tag).chronology.id
    known = kept_sales(desk, market)
    sheet = sale_sheet(told, id_, desk.currency)
    if any(one.id == id_ for one in known):
        if comparables_from(sheet)[0] in known:
            return
        raise ConflictError("this id names another comparable", where=market, received=id_)
    _keep(desk, market, comparables_from(sheet, known=known))


def add_sales(desk: OpenShop, tag: str, data: bytes, name: str) -> int:
    """Keep a spreadsheet of comparables, all or none; give how many.

    Raises
    ------
    TableError
        Cells cannot be used, or sales are kept already; it holds all of them.
    InputError
        Not a table, too large, or a column whose name says nothing.
    """
    from heelstamp.casework.appraisal.sales_table import comparables_from

    market = desk.subject(tag).chronology.id
    sheet = sheet_of(data, name)
    rows = comparables_from(sheet, known=kept_sales(desk, market))
    _keep(desk, market, rows)
    return len(rows)


def sheet_of(data: bytes, name: str) -> Sheet:
    """Read a spreadsheet that was sent to the bench.

    Raises
    ------
    InputError
        Not a table, without a row, or too large to be read here.
    """
    from heelstamp.media.spreadsheets import read_sheet

    if len(data) > SHEET_MAX:
        raise InputError(
            "the table is too large to be read here",
            where=name,
            received=f"more than {SHEET_MAX / 1e6:.0f} MB",
            remedy=f"At most {SHEET_MAX / 1e6:.0f} MB; cut it in two, or import it at the "
            "machine of the shop with the command line.",
        )
    sheet = read_sheet(data, name, most_rows=ROWS_MAX)
    if not sheet.rows:
        raise InputError(
            "the table has a head and no row", where=name, remedy="Write one row for each."
        )
    return sheet


def _keep(desk: OpenShop, market: str, rows: Sequence[Comparable]) -> None:
    from heelstamp.casework.appraisal.comparables import encode

    desk.comparables.add(market, [(one.id, encode(one)) for one in rows])
