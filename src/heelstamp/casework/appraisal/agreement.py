"""An agreement with a consignor as a form: its fields to a document of terms and back, and signed.

The document stays the one of `heelstamp.casework.appraisal.consignment`; a form is another way to
write it, and keeps what it has no field for. What was signed is the text of the terms, by its
SHA-256: any other text is a new agreement, to be signed anew. A signature drawn on a screen is kept
as its strokes; what such a signature is worth in law is not judged here.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from heelstamp.casework.appraisal.consignment import CONSIGNMENT_SCHEMA, Terms
from heelstamp.catalogue import Agreement, DossierState
from heelstamp.errors import InputError
from heelstamp.valuation.money import Money

SINGLE = (
    *("start", "reserve", "floor_net", "received", "least_commission", "cover_until"),
    *("term_days", "pay_days", "return_days", "unsold_worth", "return_cost", "waiting"),
)
"""Fields of the document that hold one value."""
WHOLE = frozenset({"term_days", "pay_days", "return_days"})
CLAUSES = ("Opening", "Loss", "Return")
"""What an agreement should say in words: who may open what, who bears a loss, what a return costs
(common practice, no source)."""
MOST_STROKES, MOST_POINTS, FIELD = 200, 5_000, 1_000
"""Of a signature drawn on a screen: strokes, points in all, and the side of its field."""


@dataclass(frozen=True)
class AgreementForm:
    """An agreement as rows of a form; everything is text as it was written.

    Attributes
    ----------
    single
        By the names of `SINGLE`.
    tiers
        Rate, and the price up to which it holds; blank without end.
    charges
        Name and sum.
    tax
        Scheme and rate.
    cut
        Share, days between cuts, and step of rounding.
    path
        Days after the first offer, and the price from then on; in place of cuts.
    clauses
        Title and text.
    """

    single: Mapping[str, str]
    tiers: Sequence[tuple[str, str]] = ()
    charges: Sequence[tuple[str, str]] = ()
    tax: tuple[str, str] = ("none", "")
    cut: tuple[str, str, str] = ("", "", "")
    path: Sequence[tuple[str, str]] = ()
    clauses: Sequence[tuple[str, str]] = ()


def form_of(document: Mapping[str, Any]) -> AgreementForm:
    """Lay a document of terms out as a form, as far as it has the parts of one."""

    def rows(key: str, first: str, second: str) -> list[tuple[str, str]]:
        found = document.get(key)
        listed = found if isinstance(found, list) else []
        return [
            (str(one.get(first, "")), str(one.get(second, "")))
            for one in listed
            if isinstance(one, Mapping)
        ]

    def table(key: str) -> Mapping[str, Any]:
        found = document.get(key)
        return found if isinstance(found, Mapping) else {}

    tax, cut = table("tax"), table("cut")
    clauses = rows("clause", "title", "text")
    wanting = [one for one in CLAUSES if one not in {title for title, _ in clauses}]
    return AgreementForm(
        single={key: str(document[key]) for key in SINGLE if key in document},
        tiers=rows("commission", "rate", "up_to"),
        charges=rows("charge", "name", "amount"),
        tax=(str(tax.get("scheme", "none")), str(tax.get("rate", ""))),
        cut=tuple(str(cut.get(one, "")) for one in ("share", "every_days", "step")),  # type: ignore[arg-type]
        path=rows("path", "after_days", "price"),
        clauses=[*clauses, *((one, "") for one in wanting)],
    )


def document_of(form: AgreementForm, held: Mapping[str, Any], currency: str) -> dict[str, Any]:
    """Write a form as a document of terms; what it has no field for stays as *held* has it.

    Raises
    ------
    InputError
        A number of days that is none.
    """
    own = {*SINGLE, "schema", "currency", "commission", "charge", "tax", "cut", "path", "clause"}
    made: dict[str, Any] = {"schema": CONSIGNMENT_SCHEMA, "currency": currency}
    for key in SINGLE:
        text = form.single.get(key, "").strip()
        if text:
            made[key] = _days(text, key) if key in WHOLE else text
    made |= {key: value for key, value in held.items() if key not in own}
    made["commission"] = _rows(form.tiers, "rate", "up_to")
    made["charge"] = _rows(form.charges, "name", "amount")
    scheme, rate = (one.strip() for one in form.tax)
    made["tax"] = {"scheme": scheme or "none", **({"rate": rate} if rate else {})}
    share, every, step = (one.strip() for one in form.cut)
    if share or every:
        made["cut"] = {"share": share, "every_days": _days(every, "cut.every_days")}
        made["cut"] |= {"step": step} if step else {}
    made["path"] = [
        {"after_days": _days(days.strip(), "path"), "price": price.strip()}
        for days, price in form.path
        if days.strip() or price.strip()
    ]
    made["clause"] = [
        {"title": title.strip(), "text": text.strip()}
        for title, text in form.clauses
        if title.strip() and text.strip()
    ]
    return {key: value for key, value in made.items() if value != []}


def _rows(told: Sequence[tuple[str, str]], first: str, second: str) -> list[dict[str, str]]:
    rows = [{first: one.strip(), second: other.strip()} for one, other in told]
    return [{key: said for key, said in row.items() if said} for row in rows if any(row.values())]


def _days(text: str, field: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 5):
        raise InputError(
            "not a number of days",
            where=f"field {field}",
            received=text,
            remedy="Count whole days.",
        )
    return int(text)


def net_table(terms: Terms, prices: Sequence[Money]) -> tuple[list[str], list[tuple[str, ...]]]:
    """Prices, and every line of the settlement at each of them, the net last."""
    found = [terms.settled(price) for price in prices]
    names = list(dict.fromkeys(line.name for one in found for line in one.lines))
    rows = []
    for name in names:
        sums = []
        for one in found:
            line = next((line for line in one.lines if line.name == name), None)
            sums.append("" if line is None else str(line.amount))
        rows.append((name, *sums))
    rows.append(("Net to the consignor", *(one.net.exact() for one in found)))
    return [str(price) for price in prices], rows


def agreed_rows(terms: Terms) -> list[tuple[str, str]]:
    """What is agreed in sums, rates and days: name and words, as the paper to be signed has it."""
    document = terms.document
    rates = [
        one.rate + (f" up to {one.up_to} {document.currency}" if one.up_to else " above")
        for one in document.commission
    ]
    if len(rates) == 1:
        rates = [document.commission[0].rate]
    sums = {
        "First asking price": terms.start,
        "Reserve: below it nothing is sold without asking you": terms.reserve,
        "Least price, which nets you what you want to be left with": terms.least_price,
        "Worth to you if it is not sold": terms.unsold if document.unsold_worth else None,
    }
    rows = [(name, str(sum_)) for name, sum_ in sums.items() if sum_ is not None]
    first = date(2000, 1, 1)  # any day: only distances are told
    later = [f"{one.price} from day {(one.day - first).days}" for one in terms.schedule(first)[1:]]
    if terms.start is not None:
        told = ", ".join(later) + ", counted from the first offer" if later else "no cuts agreed"
        rows.insert(1, ("Asking price after that", told))
    rows.append(("Commission", ", ".join(rates)))
    if document.tax is not None and document.tax.scheme != "none":
        rows.append(("Tax", f"{document.tax.scheme}, {document.tax.rate}"))
    days = (
        f"term {document.term_days} from receipt; a buyer's return {document.return_days}; "
        f"paid out to you within {document.pay_days}"
    )
    rows.append(("Days", days))
    if document.cover_until:
        rows.append(("Insurance cover until", document.cover_until))
    return rows


@dataclass(frozen=True)
class Signatures:
    """Who signed what: all signatures, and whether the terms that hold are among them.

    Attributes
    ----------
    signed
        Those of the terms that hold now.
    earlier
        Those of other terms.
    """

    signed: tuple[Agreement, ...]
    earlier: tuple[Agreement, ...]


def signatures_of(state: DossierState, digest: str) -> Signatures:
    """Part the signatures of a dossier by whether they are of the terms with this SHA-256."""
    found = tuple(state.of(Agreement).values())
    return Signatures(
        tuple(one for one in found if one.terms == digest),
        tuple(one for one in found if one.terms != digest),
    )


def read_strokes(text: str) -> list[list[tuple[int, int]]]:
    """Read a signature drawn on a screen: strokes of points in a square field of `FIELD`.

    Raises
    ------
    InputError
        Not strokes, too many of them, or nothing drawn.
    """
    try:
        told = json.loads(text)
        strokes = [[(int(x), int(y)) for x, y in stroke] for stroke in told]
    except (ValueError, TypeError, RecursionError, OverflowError):
        raise _not_drawn("not a drawn signature") from None
    points = [point for stroke in strokes for point in stroke]
    inside = all(0 <= one <= FIELD for point in points for one in point)
    if not inside or len(strokes) > MOST_STROKES or len(points) > MOST_POINTS:
        raise _not_drawn("not a drawn signature")
    if len({*points}) < 8:
        raise _not_drawn("nothing was drawn")
    return strokes


def _not_drawn(what: str) -> InputError:
    return InputError(
        what, where="the signature", remedy="Draw it in the field, or enter it as signed on paper."
    )


def strokes_path(strokes: Sequence[Sequence[tuple[int, int]]]) -> str:
    """Write strokes as the path of an SVG."""
    return " ".join("M" + " L".join(f"{x} {y}" for x, y in stroke) for stroke in strokes if stroke)
