"""Appraising a subject: its comparables, market document, consumer index and terms joined.

A shop's own ``market.toml`` and ``consignment.toml`` lie beside ``shop.toml``; both are
optional. Terms of one dossier lie in the folder ``terms``, named by its tag, and go before the
shop's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.shop.folder import is_shop, now, open_shop
from heelstamp.shop.files import read_file
from heelstamp.shop.subjects import Subject, chronology_for
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.comparables import Comparable
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.casework.appraisal.finding import PriceFinding
    from heelstamp.casework.appraisal.instrument import Given
    from heelstamp.casework.appraisal.market import Market
    from heelstamp.casework.appraisal.procedure import Request
    from heelstamp.casework.inspections.plan import Money as MoneyGain
    from heelstamp.casework.ports import Shop
    from heelstamp.valuation.money import Money

MARKET_FILE = "market.toml"
TERMS_FILE = "consignment.toml"
TERMS_FOLDER = "terms"
DEMO_MONTH = "2026-11"
"""Month of the demonstration's estimate."""


@dataclass(frozen=True)
class Table:
    """A table of sales that a person named, with its column map and sheet."""

    path: Path
    columns: Path | None = None
    sheet: str | None = None


@dataclass(frozen=True)
class SalesAdded:
    """What was added to the comparables of one market."""

    market: str
    rows: tuple[Comparable, ...]
    total: int
    repeats: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Asked:
    """What a person asks for, beside the record; None leaves it to the record.

    Attributes
    ----------
    sold, offer
        Price at which the net is worked out, as text.
    nominal
        Leave inflation in the prices.
    """

    as_of: str | None = None
    grade: str | None = None
    colour: str | None = None
    case: bool | None = None
    sold: str | None = None
    offer: str | None = None
    terms: Path | None = None
    nominal: bool = False


def import_sales(shop: Path, table: Table, chronology: str) -> SalesAdded:
    """Add a table of sales to the shop's comparables, all or none.

    Raises
    ------
    TableError
        Cells cannot be used, or a sale is there already; it holds all of them.
    InputError
        The table, its columns or the map cannot be read, or there is no such chronology.
    """
    from heelstamp.casework.appraisal.comparables import encode, possible_repeats

    market = chronology_for(chronology, shop).id
    with open_shop(shop) as opened:
        known = kept_sales(opened, market)
        rows = _read_table(table, known)
        opened.comparables.add(market, [(one.id, encode(one)) for one in rows])
        whole = [*known, *rows]
    new = {one.id for one in rows}
    repeats = tuple(pair for pair in possible_repeats(whole) if new & set(pair))
    return SalesAdded(market, tuple(rows), len(whole), repeats)


def kept_sales(opened: Shop, market: str) -> list[Comparable]:
    """Give the comparables a shop keeps for one market."""
    from heelstamp.casework.appraisal.comparables import decode

    return [decode(text) for _, text in opened.comparables.rows(market)]


def sales_of(shop: Path, chronology: str) -> list[Comparable]:
    """Give the comparables of a shop's folder for one chronology."""
    with open_shop(shop) as opened:
        return kept_sales(opened, chronology_for(chronology, shop).id)


def _read_table(table: Table, known: list[Comparable]) -> list[Comparable]:
    from heelstamp.casework.appraisal.sales_table import comparables_from, read_sales_map
    from heelstamp.documents import decode_text
    from heelstamp.media.spreadsheets import read_sheet

    mapped = None
    if table.columns is not None:
        text = decode_text(read_file(table.columns), table.columns.name)
        mapped = read_sales_map(text, table.columns.name)
    sheet = read_sheet(read_file(table.path), table.path.name, table.sheet)
    return comparables_from(sheet, mapped, known=known)


def market_for(shop: Path | None) -> Market:
    """Give the shop's own market document, or the bundled one."""
    from heelstamp.casework.appraisal.market import parse_market
    from heelstamp.reference.market import load_market

    path = None if shop is None else shop / MARKET_FILE
    if path is None or not path.is_file():
        return load_market()
    return parse_market(_document(path), where=path.name)


def terms_for(shop: Path | None, path: Path | None, tag: str = "") -> Terms | None:
    """Give the named terms of consignment, those of a dossier, the shop's own, or None."""
    from heelstamp.casework.appraisal.consignment import parse_terms

    if path is None:
        path = None if shop is None else terms_path(shop, tag)
        if path is None:
            return None
    return parse_terms(_document(path), where=path.name)


def terms_path(shop: Path, tag: str) -> Path | None:
    """Give the file of the terms that hold for a dossier; None where there is none."""
    kept = [shop / TERMS_FOLDER / f"{tag}.toml"] if tag else []
    return next((one for one in (*kept, shop / TERMS_FILE) if one.is_file()), None)


def _document(path: Path) -> dict[str, Any]:
    from heelstamp.documents import decode_text, parse_document

    return parse_document(decode_text(read_file(path), path.name), path.name, "toml")


def appraise(subject: Subject, shop: Path, asked: Asked, table: Table | None) -> PriceFinding:
    """Price a subject from the shop's comparables or from a table.

    Raises
    ------
    InputError
        No comparables, too few, or something asked for cannot be read.
    """
    from heelstamp.casework.appraisal.procedure import Sources, price_instrument
    from heelstamp.reference.market import consumer_index
    from heelstamp.reference.tables import mark_context
    from heelstamp.valuation.price_index import FLAT

    folder = shop if is_shop(shop) else None
    rows = _read_table(table, []) if table is not None else _kept(subject, folder)
    request = _request(subject, folder, asked, rows)
    index = FLAT if asked.nominal else consumer_index()
    return price_instrument(
        subject.state,
        Sources(subject.chronology, mark_context(), rows, market_for(folder), index),
        request,
        labels={part.key: part.label for part in subject.tree},
    )


def _kept(subject: Subject, shop: Path | None) -> list[Comparable]:
    rows: list[Comparable] = []
    if shop is not None:
        with open_shop(shop) as opened:
            rows = kept_sales(opened, subject.chronology.id)
    if not rows:
        raise InputError(
            "no comparables to price from",
            where=subject.name,
            remedy="Name a table with --comparables, or add one to the shop: "
            f"heelstamp sales import TABLE --as {subject.chronology.id}.",
        )
    return rows


def _request(subject: Subject, shop: Path | None, asked: Asked, rows: list[Comparable]) -> Request:
    from heelstamp.casework.appraisal.clearance import decisions_of
    from heelstamp.casework.appraisal.procedure import Request
    from heelstamp.units import parse_month

    terms = terms_for(shop, asked.terms, subject.name)
    currency = _currency(shop, terms, rows)
    said = decisions_of(subject.state)
    if asked.sold is not None and asked.offer is not None:
        raise InputError("sold and offered at once", remedy="Give --sold or --offer.")
    price, basis = None, ""
    for text, word in ((asked.sold, "sold"), (asked.offer, "offered"), (said.get("sold"), "sold")):
        if text is not None:
            price, basis = _amount(text, currency), f", {word}"
            break
    agreed: tuple[Money, str] | None = None
    if "insured value" in said:
        when = _when(subject, "insured value")
        agreed = _amount(said["insured value"], currency), f"agreed with the owner{when}"
    return Request(
        given=_given(subject, asked),
        as_of=parse_month(asked.as_of or now()[:7], where="--as-of"),
        currency=currency,
        terms=terms,
        price=price,
        basis=basis,
        agreed=agreed,
    )


def _when(subject: Subject, about: str) -> str:
    state = subject.state
    ids = [id_ for id_, one in state.decisions.items() if one.about.casefold() == about]
    at = state.entered[ids[-1]].at[:10]
    return f" on {at}" if at else ""


def _amount(text: str, currency: str) -> Money:
    from heelstamp.valuation.money import Money

    return Money.parse(text.strip().removesuffix(currency).strip(), currency)


def _currency(shop: Path | None, terms: Terms | None, rows: list[Comparable]) -> str:
    from collections import Counter

    if terms is not None:
        return terms.document.currency
    if shop is not None:
        from heelstamp.shop.folder import read_settings

        return read_settings(shop).currency
    return Counter(one.currency for one in rows).most_common(1)[0][0]


def _given(subject: Subject, asked: Asked) -> Given:
    from heelstamp.casework.appraisal.comparables import GRADES
    from heelstamp.casework.appraisal.instrument import given_by

    given = given_by(subject.state)
    if asked.grade is not None:
        if asked.grade not in GRADES:
            raise InputError(
                "not a grade", where="--grade", received=asked.grade, remedy="Use A (best) to E."
            )
        given = replace(given, grade=float(GRADES.index(asked.grade)))
    if asked.colour is not None:
        if asked.colour not in ("standard", "rare"):
            raise InputError(
                "not a colour here",
                where="--colour",
                received=asked.colour,
                remedy="Use standard or rare.",
            )
        given = replace(given, colour=asked.colour)
    if asked.case is not None:
        given = replace(given, case=asked.case)
    return given


def money_gain(subject: Subject) -> MoneyGain | None:
    """Give the money figure for planning inspections; None without enough comparables."""
    if subject.shop is None:
        return None
    from heelstamp.casework.appraisal.design import FEWEST
    from heelstamp.casework.appraisal.figure import open_money
    from heelstamp.casework.appraisal.procedure import Sources, fit_instrument
    from heelstamp.reference.market import consumer_index
    from heelstamp.reference.tables import mark_context

    rows = kept_sales(subject.shop, subject.chronology.id)
    if len(rows) < FEWEST:
        return None
    market = market_for(subject.shop.folder)
    fitted = fit_instrument(
        subject.state,
        Sources(subject.chronology, mark_context(), rows, market, consumer_index()),
        _request(subject, subject.shop.folder, Asked(), rows),
    )
    return open_money(fitted.priced, fitted.middle, fitted.unseen)


def price_demo(subject: Subject, shop: Path) -> PriceFinding:
    """Keep the demonstration's sales and terms in its shop, and price its instrument."""
    from heelstamp.shop.files import write_whole
    from heelstamp.casework.appraisal.comparables import encode
    from heelstamp.casework.appraisal.sales_table import comparables_from
    from heelstamp.reference.demonstration import demo_sales, demo_terms

    write_whole(shop / TERMS_FILE, demo_terms().encode("utf-8"))
    rows = comparables_from(demo_sales())
    with open_shop(shop) as opened:
        opened.comparables.add(subject.chronology.id, [(one.id, encode(one)) for one in rows])
    return appraise(subject, shop, Asked(as_of=DEMO_MONTH), None)


def today() -> date:
    """Give the day of the machine's clock in UTC."""
    return date.fromisoformat(now()[:10])
