"""Money: three figures that never stand for each other, what is behind them, what is said of it.

A view of a price finding for the screen, and the entries that a finding reads: condition, colour,
case, other changed parts, the value agreed for insurance, the price paid; what was searched and
answered before anything is advertised. Sums are written here, from the finding, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from heelstamp.casework.appraisal.agreed import INSURED, SOLD, agreed_price, sum_of
from heelstamp.casework.appraisal.clearance import NO_HIT, ROUTE_ID, Clearance, numbers_of
from heelstamp.casework.appraisal.comparables import ASPECTS, GRADES, Comparable
from heelstamp.casework.appraisal.finding import Driver, PriceFinding
from heelstamp.casework.inspections import Plan
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet
from heelstamp.catalogue import (
    CaseIncluded,
    ChangedParts,
    Colour,
    DossierState,
    Grade,
    MaterialAnswer,
    MaterialsLooked,
    Price,
)
from heelstamp.catalogue.bodies.base import Reasoned
from heelstamp.errors import InputError
from heelstamp.valuation.money import Money

MOST_CHANGED = 50
"""Other changed parts that can be meant."""

WORDS_OF: dict[str, tuple[str, ...]] = {
    "grade": GRADES,
    **{f"grade: {one}": GRADES for one in ASPECTS},
    "colour": ("standard", "rare"),
    "case": ("yes", "no"),
}
"""What may be said of an instrument that bears on its price, in one of these words."""
_ASPECT_OF: dict[str, str] = {"grade": "", **{f"grade: {one}": one for one in ASPECTS}}

NOTHING_FOUND = NO_HIT
"""What a search without a hit is entered as."""

SUMS = (INSURED,)
OTHERS_CHANGED, MATERIALS_LOOKED = "other parts changed", "material: looked"
ROUTES = ("EU", "US")

FormField = Literal[
    "month",
    "kind",
    "price",
    "venue",
    "made",
    "grade",
    "finish",
    "pickups",
    "others",
    "other model",
    "routed",
    "repaired break",
    "refretted",
    "days",
    "piece",
    "neck",
    "neck seen",
    "case",
    "colour",
    "weight",
    "source",
    "note",
]
CHOICES: dict[FormField, tuple[str, ...]] = {
    "venue": ("auction", "shop", "private", "online", "fair"),
    "grade": GRADES,
    "finish": ("original", "touched up", "refinished", "old refinish", "recent refinish"),
    "neck": ("first", "later"),
    "neck seen": ("yes", "no"),
    "case": ("yes", "no"),
    "colour": ("standard", "rare"),
    "routed": ("yes", "no"),
    "repaired break": ("yes", "no"),
    "refretted": ("yes", "no"),
}
"""Qualities of a comparable that are chosen; none chosen is *not recorded*."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One of the three figures: its name, the sum, what kind of sum it is, what is behind it."""

    name: str
    sum: str
    is_a: str
    behind: str


@dataclass(frozen=True, slots=True)
class SaleRow:
    """A comparable as the table has it; what nobody recorded says so."""

    id: str
    month: str
    price: str
    made: str
    grade: str
    finish: str
    neck: str
    source: str
    note: str
    """Why it counts less, or not at all; empty where it counts as any other."""


@dataclass(frozen=True, slots=True)
class Look:
    """What one inspection would clear up in money, and what its time costs."""

    name: str
    clears: str
    time: str
    consent: str
    advice: str
    worth: float


def three_figures(finding: PriceFinding) -> tuple[Figure, Figure, Figure]:
    """Insured, market and net, in that order, never one in place of another."""
    market, currency = finding.market, finding.market.currency
    low, high = market.interval_90
    compared = finding.comparables
    asking = f" and {compared.asking} asking prices kept apart" if compared.asking else ""
    asking += f", {compared.unsold} offers that found no buyer" if compared.unsold else ""
    agreed = finding.insured_value.basis.strip().lstrip(", ")
    net = finding.settlement
    return (
        Figure(
            "Insured",
            whole(finding.insured, currency),
            "what replacing it at a dealer would cost",
            agreed,
        ),
        Figure(
            "Market",
            f"{low:,.0f} to {high:,.0f} {currency}",
            "where nine of ten such sales would fall",
            f"middle {whole(market.median, currency)}; {compared.sold} sales{asking}, "
            f"{compared.first} to {compared.last}; estimated for {market.as_of}",
        ),
        Figure(
            "Net to the consignor",
            "not known" if net is None else Money.nearest(net.net, currency).exact(),
            "what a sale leaves them",
            "no terms of consignment in this shop"
            if net is None
            else f"at {whole(net.price, currency)}{net.basis}",
        ),
    )


def whole(value: float, currency: str) -> str:
    """Write an estimate without its cents."""
    return f"{value:,.0f} {currency}".replace("-", "−")


def driver_rows(drivers: Sequence[Driver], currency: str) -> list[tuple[str, str, str, str, str]]:
    """Label, amount, money, effect with its range, and the prior, as text."""
    return [
        (
            one.label,
            f"{one.amount:.2f}",
            f"{one.money:+,.0f} {currency}".replace("-", "−"),
            _minus(f"{100 * one.effect:+.1f} % ({100 * one.low:+.1f} to {100 * one.high:+.1f})"),
            ""
            if one.prior is None
            else _minus(f"{100 * one.prior[0]:+.1f} ± {100 * one.prior[1]:.1f}; {one.basis}"),
        )
        for one in drivers
    ]


def _minus(text: str) -> str:
    return text.replace("-", "−")


def sale_rows(
    rows: Sequence[Comparable], finding: PriceFinding | None
) -> tuple[list[SaleRow], list[SaleRow]]:
    """The rows that were sold and the rows that nobody paid, each by month."""
    notes: dict[str, str] = {}
    if finding is not None:
        notes = {id_: f"left out: {reason}" for id_, reason in finding.comparables.left_out}
        for flagged in finding.comparables.outliers:
            notes[flagged.id] = (
                f"fits badly ({abs(flagged.surprise):.1f} standard deviations): counts "
                f"{100 * flagged.weight:.0f} % of a usual one"
            )
        for one, other in finding.comparables.possible_repeats:
            notes.setdefault(other, f"may be the same sale as {one}; both count")
    for row in rows:
        if row.kind == "unsold":
            notes[row.id] = "; ".join(filter(None, ("found no buyer", notes.get(row.id))))
        if row.reason:
            said = f"corrected: {row.reason}"
            notes[row.id] = "; ".join(filter(None, (notes.get(row.id), said)))
    told = [(one.kind, sale_row(one, notes.get(one.id, ""))) for one in rows]
    told.sort(key=lambda pair: (pair[1].month, pair[1].id), reverse=True)
    return (
        [row for kind, row in told if kind == "sold"],
        [row for kind, row in told if kind != "sold"],
    )


def sale_row(one: Comparable, note: str = "") -> SaleRow:
    """Write a comparable as text, with *note* why it counts less."""
    unknown = "not recorded"
    made = unknown
    if one.made is not None:
        made = "–".join(str(year) for year in dict.fromkeys(one.made))
    return SaleRow(
        id=one.id,
        month=one.month,
        price=str(one.price),
        made=made,
        grade=one.grade or unknown,
        finish=(one.finish or unknown).replace("_", " "),
        neck=one.neck or unknown,
        source=one.source or unknown,
        note=note,
    )


def sale_fields(one: Comparable) -> dict[str, str]:
    """Write a comparable as fields of a form, by the names of columns; blank is not recorded."""
    yes = {True: "yes", False: "no", None: ""}
    made = "" if one.made is None else "-".join(str(year) for year in dict.fromkeys(one.made))
    counts = {"pickups": one.pickups, "others": one.others, "other model": one.other_model}
    return {
        "month": one.month,
        "kind": one.kind,
        "price": str(one.price.amount),
        "venue": one.venue or "",
        "made": made,
        "grade": one.grade or "",
        "finish": (one.finish or "").replace("_", " "),
        **{name: "" if count is None else str(count) for name, count in counts.items()},
        "routed": yes[one.routed],
        "repaired break": yes[one.repaired_break],
        "refretted": yes[one.refretted],
        "neck": one.neck or "",
        "neck seen": yes[one.neck_seen],
        "case": yes[one.case],
        "colour": one.colour or "",
        "weight": "" if one.weight_g is None else f"{one.weight_g:g}",
        "days": "" if one.days is None else str(one.days),
        "piece": one.piece,
        "source": one.source,
        "note": one.note,
    }


def sale_sheet(told: Mapping[str, str], id_: str, currency: str) -> Sheet:
    """Lay out one comparable of a form as a table of one row, to be read as any table is.

    Parameters
    ----------
    told
        What the form says, by the names of columns; blank is not recorded.
    """
    fields = {"id": id_, **told, "currency": currency}
    return Sheet(
        "this form", tuple(fields), ((1, tuple(Cell(one.strip()) for one in fields.values())),)
    )


def valued_entries(
    state: DossierState, stamp: EntryStamp, currency: str, *, about: str, decided: str, reason: str
) -> list[NewEntry]:
    """The entry on a matter that bears on the price.

    Parameters
    ----------
    about
        A key of `WORDS_OF`, of `SUMS`, or `OTHERS_CHANGED`.

    Raises
    ------
    InputError
        No such matter, or it cannot be said so.
    """
    key, said = about.strip().casefold(), decided.strip()
    if stamp.id in state.entered:
        return []
    body = {"id": stamp.id, "reason": reason.strip() or "appraised at the bench", **stamp.late}
    if key in WORDS_OF:
        if said not in WORDS_OF[key]:
            raise InputError(
                "a word that says nothing here",
                where=key,
                received=said,
                remedy="Use one of: " + ", ".join(WORDS_OF[key]) + ".",
            )
        return [_in_a_word(key, said, body)]
    if key == OTHERS_CHANGED:
        if not (said.isascii() and said.isdigit() and int(said[:4]) <= MOST_CHANGED):
            raise InputError(
                "not a count of parts",
                where=key,
                received=said,
                remedy=f"Write a whole number, at most {MOST_CHANGED}.",
            )
        return [NewEntry("changed_parts", body | {"count": int(said)})]
    if key == SOLD:
        raise InputError(
            "a sale is entered step by step",
            where=key,
            received=said,
            remedy="Enter the price under Sale, as agreed with the buyer.",
        )
    if key not in SUMS:
        raise InputError("not a matter of the price", received=about, remedy="See Money.")
    paid = Money.parse(said.removesuffix(currency), currency, where=key)
    if paid.minor <= 0:
        raise InputError("a sum is above nought", where=key, received=said)
    return [NewEntry("price", body | {"of": key, "amount": str(paid.amount), "currency": currency})]


def _in_a_word(key: str, said: str, body: dict[str, Any]) -> NewEntry:
    if key == "colour":
        return NewEntry("colour", body | {"colour": said})
    if key == "case":
        return NewEntry("case_included", body | {"included": said == "yes"})
    return NewEntry("grade", body | {"grade": said, "aspect": _ASPECT_OF[key]})


def cleared_entries(
    state: DossierState,
    stamp: EntryStamp,
    found: Clearance,
    *,
    matter: str,
    about: str,
    decided: str,
) -> list[NewEntry]:
    """The entry on something that stands before an advertisement.

    Parameters
    ----------
    found
        The clearance as it stands, with its questions.
    matter
        ``search``, ``note``, ``near``, ``material`` or ``looked``.
    about
        Which list, note, number or material.

    Raises
    ------
    InputError
        No such matter, or nothing was said.
    """
    named, said = about.strip(), decided.strip()
    if stamp.id in state.entered:
        return []
    if not said or (matter != "looked" and not named):
        raise InputError("nothing was said", where=matter, remedy="Write what was found.")
    body: dict[str, Any] = {"id": stamp.id, **stamp.late}
    if matter == "search":
        hit = said.casefold() != NO_HIT
        numbers = list(numbers_of(state))
        searched = {"register": named, "hit": hit, "day": stamp.at[:10], "numbers": numbers}
        return [NewEntry("title_search", body | searched | ({"result": said} if hit else {}))]
    if matter == "note":
        if said not in ("open", "closed"):
            raise InputError("a note is open or closed", received=said, remedy="Choose one.")
        reason = {"reason": "entered at the bench"}
        return [NewEntry("title_note", body | reason | {"subject": named, "open": said == "open"})]
    if matter == "near" and any(one.number == named for one in found.near):
        reason = {"reason": "compared at the bench"}
        return [NewEntry("near_number", body | reason | {"number": named, "settled": said})]
    known = named.startswith(ROUTE_ID) or any(one.id == named for one in found.materials)
    if matter == "material" and known:
        reason = {"reason": "answered at the bench"}
        return [NewEntry("material", body | reason | {"rule": named, "answer": said})]
    if matter == "looked":
        return [
            NewEntry("materials_looked", body | {"reason": "looked at the bench", "found": said})
        ]
    raise InputError("nothing of that kind is asked", received=f"{matter} {named}".strip())


@dataclass(frozen=True, slots=True)
class Said:
    """What was said last on a matter: by whom, and when."""

    decided: str
    by: str
    day: str
    reason: str


def said_last(state: DossierState, currency: str = "") -> dict[str, Said]:
    """Find what was said last on each matter of the price, and of the look for materials.

    Parameters
    ----------
    currency
        The shop's, of sums that name none.
    """
    told: list[tuple[str, str, Reasoned]] = [
        (f"grade: {one.aspect}" if one.aspect else "grade", one.grade, one)
        for one in state.of(Grade).values()
    ]
    told += [("colour", one.colour, one) for one in state.of(Colour).values()]
    told += [
        ("case", "yes" if one.included else "no", one) for one in state.of(CaseIncluded).values()
    ]
    told += [(OTHERS_CHANGED, str(one.count), one) for one in state.of(ChangedParts).values()]
    agreed = (agreed_price(state, of) for of in (INSURED, SOLD))
    told += [(one.of, _sum_words(one, currency), one) for one in agreed if one is not None]
    told += [(MATERIALS_LOOKED, one.found, one) for one in state.of(MaterialsLooked).values()]
    told += [
        (f"material: {one.rule.casefold()}", one.answer, one)
        for one in state.of(MaterialAnswer).values()
    ]
    found = {}
    for matter, decided, one in told:
        entered = state.entered[one.id]
        found[matter] = Said(decided, entered.by, entered.at[:10], one.reason)
    return found


def _sum_words(one: Price, currency: str) -> str:
    named = one.currency or currency
    return str(sum_of(one, named)) if named else one.amount


def looks(plan: Plan, currency: str, rate: float) -> list[Look]:
    """What each look that may still be done clears up, the most first.

    Parameters
    ----------
    rate
        What an hour at the bench costs.
    """
    found = []
    for one in plan.options:
        if one.gain.money is None:
            continue
        cost = rate * one.minutes / 60
        found.append(
            Look(
                name=one.name,
                clears=whole(one.gain.money, currency),
                time=f"{one.minutes:.0f} min, {whole(cost, currency)}",
                consent=one.consent,
                advice=one.advice,
                worth=one.gain.money,
            )
        )
    return sorted(found, key=lambda one: (-one.worth, one.name))
