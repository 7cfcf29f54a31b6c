"""Forms of Money."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field

from heelstamp.casework.appraisal.agreement import SINGLE, AgreementForm
from heelstamp.web.forms import Digest, EntryForm, Line, Prose, Sent, Word


class TermsText(EntryForm):
    """The whole text of terms of consignment, for this dossier or for the shop."""

    text: Annotated[str, Field(max_length=100_000)]
    whose: Word
    base: Digest = ""


class Agreed(EntryForm):
    """The sums and the day that were agreed for an instrument."""

    start: Word = ""
    reserve: Word = ""
    floor_net: Word = ""
    received: Word = ""
    base: Digest = ""


Texts = Annotated[list[Line], Field(max_length=40, default_factory=list)]


class AgreementFields(EntryForm):
    """An agreement on a form; rows as lists side by side.

    Attributes
    ----------
    whose
        ``dossier`` or ``shop`` keeps it, ``look`` shows what it would net.
    price
        At which that is shown.
    """

    whose: Word
    base: Digest = ""
    price: Texts
    start: Word = ""
    reserve: Word = ""
    floor_net: Word = ""
    received: Word = ""
    least_commission: Word = ""
    cover_until: Word = ""
    term_days: Word = ""
    pay_days: Word = ""
    return_days: Word = ""
    rate: Texts
    up_to: Texts
    charge: Texts
    charge_sum: Texts
    tax_scheme: Word = "none"
    tax_rate: Word = ""
    cut_share: Word = ""
    cut_days: Word = ""
    cut_step: Word = ""
    path_days: Texts
    path_price: Texts
    unsold_worth: Word = ""
    return_cost: Word = ""
    waiting: Word = ""
    clause: Texts
    clause_text: Annotated[list[Prose], Field(max_length=40, default_factory=list)]

    @property
    def form(self) -> AgreementForm:
        """The form that it fills in."""
        return AgreementForm(
            single={name: getattr(self, name) for name in SINGLE},
            tiers=list(zip(self.rate, self.up_to, strict=False)),
            charges=list(zip(self.charge, self.charge_sum, strict=False)),
            tax=(self.tax_scheme, self.tax_rate),
            cut=(self.cut_share, self.cut_days, self.cut_step),
            path=list(zip(self.path_days, self.path_price, strict=False)),
            clauses=list(zip(self.clause, self.clause_text, strict=False)),
        )


class ChosenPath(EntryForm):
    """That the path of prices which was shown becomes a new agreement."""

    base: Digest = ""


class Signature(EntryForm):
    """Who signed the terms that were shown, by role; drawn, or on paper."""

    role: Line
    day: Word = ""
    base: Digest = ""
    strokes: Annotated[str, Field(max_length=80_000)] = ""
    picture: UploadFile | None = None


class Valued(EntryForm):
    """What bears on the price: condition, colour, case, the value agreed, the price paid."""

    about: Word
    decided: Word = ""
    reason: Line = ""


class Cleared(EntryForm):
    """What was searched, noted, compared or answered before an advertisement."""

    matter: Word
    about: Line = ""
    decided: Prose = ""


class Comparable(EntryForm):
    """One sale or asking price."""

    month: Word
    kind: Word
    price: Word
    venue: Word = ""
    made_in: Annotated[Word, Field(alias="year")] = ""
    grade: Word = ""
    finish: Word = ""
    pickups: Word = ""
    others: Word = ""
    other_model: Word = ""
    routed: Word = ""
    repaired_break: Word = ""
    refretted: Word = ""
    days: Word = ""
    piece: Line = ""
    neck: Word = ""
    neck_seen: Word = ""
    case: Word = ""
    colour: Word = ""
    weight: Word = ""
    source: Line = ""
    note: Prose = ""

    @property
    def row(self) -> dict[str, str]:
        """The row of a sheet that says the same."""
        return _columns(self.fields())


class CorrectedSale(Comparable):
    """A comparable as it should have said, or ``withdrawn`` to take it away, and why."""

    reason: Line = ""
    withdrawn: bool = False

    @property
    def row(self) -> dict[str, str]:
        """The row of a sheet that says the same."""
        return _columns(self.fields("reason", "withdrawn"))


def _columns(fields: dict[str, str]) -> dict[str, str]:
    columns = {"made_in": "made"}
    return {columns.get(name, name.replace("_", " ")): one for name, one in fields.items()}


class Comparables(Sent):
    """A spreadsheet of comparables."""

    table: UploadFile
