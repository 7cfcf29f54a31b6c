"""The price of a subject: comparables, market document, consumer index and terms joined.

A shop's own ``market.toml`` lies beside ``shop.toml`` and is optional. For pages, a price is
remembered as long as nothing it rests on changed: the dossier, the chronology, the comparables, the
market, the terms and the month.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.comparables import keep_sales, sales_of
from heelstamp.shop.files import read_file
from heelstamp.shop.folder import now
from heelstamp.shop.statements import statement
from heelstamp.shop.terms import TERMS_FILE, terms_file, terms_for

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.comparables import Comparable
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.casework.appraisal.consignor_page import ConsignorPage
    from heelstamp.casework.appraisal.finding import PriceFinding
    from heelstamp.casework.appraisal.instrument import Given
    from heelstamp.casework.appraisal.market import Market
    from heelstamp.casework.appraisal.procedure import Fitted, Request, Sources
    from heelstamp.casework.inspections.plan import Money as MoneyGain
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.subjects import Subject
    from heelstamp.valuation.money import Money

MARKET_FILE = "market.toml"
DEMO_MONTH = "2026-11"
"""Month of the demonstration's estimate."""


@dataclass(frozen=True)
class Asked:
    """What a person asks for, beside the record; None leaves it to the record.

    Attributes
    ----------
    sold, offer
        Price at which the net is worked out, as text.
    terms
        File of terms that go before those of dossier and shop.
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


AS_RECORDED = Asked()


@dataclass(frozen=True)
class Priced:
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


def price(
    shop: OpenShop | None,
    subject: Subject,
    asked: Asked = AS_RECORDED,
    rows: Sequence[Comparable] | None = None,
) -> PriceFinding:
    """Price a subject.

    Parameters
    ----------
    shop
        Whose comparables, market, terms and currency hold; None for an examination file alone.
    rows
        Comparables to price from; those the shop keeps without.

    Raises
    ------
    InputError
        No comparables, too few, or something asked for cannot be read.
    """
    from heelstamp.casework.appraisal.procedure import price_instrument

    if rows is None:
        rows = [] if shop is None else sales_of(shop, subject.chronology.id)
    if not rows:
        raise InputError(
            "no comparables to price from",
            where=subject.name,
            remedy="Name a table with --comparables, or add one to the shop: "
            f"heelstamp sales import TABLE --as {subject.chronology.id}.",
        )
    return price_instrument(
        subject.state,
        sources_of(shop, subject, rows, nominal=asked.nominal),
        _request(shop, subject, asked, rows),
        labels={part.key: part.label for part in subject.tree},
    )


def priced(shop: OpenShop, tag: str, offer: str = "") -> Priced:
    """Return what can be said of the price of a dossier, at what was offered for it; remembered."""
    ground = repr(("price", offer, rests_on(shop, tag)))
    return shop.remembered(ground, tag, lambda: _priced(shop, tag, offer))


def rests_on(shop: OpenShop, tag: str) -> Hashable:
    """Return what a price hangs on beside the dossier."""
    chronology = shop.subject(tag).chronology
    files = []
    for path in (shop.folder / MARKET_FILE, terms_file(shop.folder, tag)):
        if path is not None and path.is_file():
            stat = path.stat()
            files.append((path.name, stat.st_mtime_ns, stat.st_size))
    count = shop.comparables.count(chronology.id)  # rows are only ever added
    return (count, tuple(files), now()[:7], chronology.digest)


def _priced(shop: OpenShop, tag: str, offer: str) -> Priced:
    subject = shop.subject(tag)
    rows = sales_of(shop, subject.chronology.id)
    try:
        finding = price(shop, subject, Asked(offer=offer or None), rows)
    except InputError as error:
        return Priced(rows, None, error, None, (), shop.currency)
    terms = terms_for(shop, tag)
    page = None if terms is None else statement(subject, terms, finding)
    return Priced(rows, finding, None, page, _floor(terms), finding.market.currency)


def _floor(terms: Terms | None) -> tuple[tuple[str, str], ...]:
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


def money_gain(
    shop: OpenShop | None, subject: Subject, rows: Sequence[Comparable] | None = None
) -> MoneyGain | None:
    """Return the money figure for planning inspections; None without enough comparables.

    Parameters
    ----------
    rows
        Comparables; those the shop keeps without.
    """
    from heelstamp.casework.appraisal.design import FEWEST
    from heelstamp.casework.appraisal.figure import open_money

    if rows is None:
        rows = [] if shop is None else sales_of(shop, subject.chronology.id)
    if len(rows) < FEWEST:
        return None
    fitted = fitted_of(shop, subject, rows)
    return open_money(fitted.priced, fitted.middle, fitted.unseen)


def fitted_of(shop: OpenShop | None, subject: Subject, rows: Sequence[Comparable]) -> Fitted:
    """Lay a subject out on its market, at the price of the record.

    Raises
    ------
    InputError
        Fewer than three comparables can be used.
    """
    from heelstamp.casework.appraisal.procedure import fit_instrument

    request = _request(shop, subject, AS_RECORDED, rows)
    return fit_instrument(subject.state, sources_of(shop, subject, rows), request)


def price_demo(shop: OpenShop, tag: str) -> PriceFinding:
    """Keep the demonstration's sales and terms in its shop, and price its instrument."""
    from heelstamp.casework.appraisal.sales_table import comparables_from
    from heelstamp.reference.demonstration import demo_sales, demo_terms
    from heelstamp.shop.noted_documents import write_document

    write_document(shop, shop.folder, TERMS_FILE, demo_terms().encode("utf-8"))
    subject, rows = shop.subject(tag), comparables_from(demo_sales())
    keep_sales(shop, subject.chronology.id, rows)
    return price(shop, subject, Asked(as_of=DEMO_MONTH), rows)


def sources_of(
    shop: OpenShop | None, subject: Subject, rows: Sequence[Comparable], *, nominal: bool = False
) -> Sources:
    """Join comparables with the market and the consumer index."""
    from heelstamp.casework.appraisal.procedure import Sources
    from heelstamp.reference.market import consumer_index
    from heelstamp.reference.tables import mark_context
    from heelstamp.valuation.price_index import FLAT

    index = FLAT if nominal else consumer_index()
    return Sources(subject.chronology, mark_context(), rows, market_of(shop), index)


def market_of(shop: OpenShop | None) -> Market:
    """Return the shop's own market document, or the bundled one.

    Effects that a shop's own does not name have the bundled priors.
    """
    from heelstamp.casework.appraisal.market import parse_market
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.reference.market import load_market

    path = None if shop is None else shop.folder / MARKET_FILE
    if path is None or not path.is_file():
        return load_market()
    text = decode_text(read_file(path), path.name)
    return parse_market(
        parse_document(text, path.name, "toml"), where=path.name, usual=load_market()
    )


def _request(
    shop: OpenShop | None, subject: Subject, asked: Asked, rows: Sequence[Comparable]
) -> Request:
    from heelstamp.casework.appraisal.agreed import INSURED, SOLD, agreed_price, price_word, sum_of
    from heelstamp.casework.appraisal.procedure import Request
    from heelstamp.units import parse_month

    terms = terms_for(shop, subject.name, asked.terms)
    currency = currency_of(shop, terms, rows)
    sold, insured = (agreed_price(subject.state, of) for of in (SOLD, INSURED))
    if asked.sold is not None and asked.offer is not None:
        raise InputError("sold and offered at once", remedy="Give --sold or --offer.")
    paid, basis = None, ""
    for text, word in ((asked.sold, "sold"), (asked.offer, "offered")):
        if text is not None:
            paid, basis = _amount(text, currency), f", {word}"
    if paid is None and sold is not None:
        paid, basis = sum_of(sold, currency), f", {price_word(subject.state)}"
    agreed: tuple[Money, str] | None = None
    if insured is not None:
        at = subject.state.entered[insured.id].at[:10]
        when = f" on {at}" if at else ""
        agreed = sum_of(insured, currency), f"agreed with the owner{when}"
    return Request(
        given=_given(subject, asked, market_of(shop)),
        as_of=parse_month(asked.as_of or now()[:7], where="--as-of"),
        currency=currency,
        terms=terms,
        price=paid,
        basis=basis,
        agreed=agreed,
    )


def _amount(text: str, currency: str) -> Money:
    from heelstamp.valuation.money import Money

    return Money.parse(text.strip().removesuffix(currency).strip(), currency)


def currency_of(shop: OpenShop | None, terms: Terms | None, rows: Sequence[Comparable]) -> str:
    """Choose the currency of a price: that of the terms, the shop, or most comparables."""
    from collections import Counter

    if terms is not None:
        return terms.document.currency
    if shop is not None:
        return shop.currency
    return Counter(one.currency for one in rows).most_common(1)[0][0]


def _given(subject: Subject, asked: Asked, market: Market) -> Given:
    from heelstamp.casework.appraisal.comparables import GRADES
    from heelstamp.casework.appraisal.instrument import given_by

    given = given_by(subject.state, market)
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
