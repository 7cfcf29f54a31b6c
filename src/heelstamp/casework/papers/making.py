"""What the shop's other papers are made of, and what all of them begin with."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.papers.audience import mask_serial
from heelstamp.casework.papers.evidence_section import weight_as_found
from heelstamp.casework.papers.form import FormLabel, FormPaper, FormSection, day_of, serial_as_read
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.catalogue.bodies.appraisal import Price
from heelstamp.units import LengthUnit
from heelstamp.valuation.money import Money
from heelstamp.valuation.settlement import Settlement
from heelstamp.wording import about_forms


class Agreed(Protocol):
    """Terms of consignment, as `heelstamp.casework.appraisal.consignment.Terms` has them."""

    def settled(self, price: Money) -> Settlement:
        """Settle a price."""
        ...


@dataclass(frozen=True, slots=True)
class Making:
    """What papers are made of.

    Attributes
    ----------
    state, tree, names
        The dossier, the parts of its kind of instrument, names of its chronology.
    lengths
        Unit of lengths on paper.
    day_words
        Writes a day of the record as it is written where the shop is.
    currency
        Of the shop.
    terms, clauses
        Terms of consignment, and title and text of each clause; none without.
    agreed
        What the terms say in sums, rates and days: name and words.
    prices
        At which the net is told.
    trays
        Opening, its screws out and back, and the screws: number, head, length, note.
    agreed_terms
        Terms under which the sale may have become final, those that hold now first.
    """

    state: DossierState
    tree: PartsTree
    names: FeatureNames
    lengths: LengthUnit = "mm"
    day_words: Callable[[str], str] = str
    currency: str = "USD"
    terms: Agreed | None = None
    clauses: Sequence[tuple[str, str]] = ()
    agreed: Sequence[tuple[str, str]] = ()
    prices: Sequence[Money] = ()
    trays: Sequence[tuple[str, int, int, Sequence[tuple[str, ...]]]] = ()
    agreed_terms: Sequence[Agreed] = ()

    def paper(
        self,
        name: str,
        facts: Sequence[tuple[str, str]],
        sections: Sequence[FormSection] = (),
        labels: Sequence[FormLabel] = (),
    ) -> FormPaper:
        """A paper of this dossier under its title."""
        one = self.state.instrument
        return FormPaper(
            paper=name,
            title=about_forms.TITLES[name],
            reader_line=about_forms.READER_LINES[about_forms.READERS[name]],
            subtitle=f"{one.maker} {one.model}, electric {self.tree.label}",
            tag=one.tag,
            facts=tuple(row for row in facts if row[1]),
            sections=tuple(sections),
            labels=tuple(labels),
        )

    def value(self) -> tuple[str, ...]:
        """The insured value as agreed, or that none is."""
        found = self.state.last(Price, of="insured value")
        if found is None:
            return (about_forms.no_value_agreed.say(),)
        amount = Money.parse(found.amount, found.currency or self.currency)
        day = self.day_words(day_of(self.state, found.id))
        return (about_forms.value_to_insure.say(amount=str(amount), day=day, reason=found.reason),)

    def identity(self, *, masked: bool = False) -> list[tuple[str, str]]:
        """Maker, model, number and weight; the number *masked* for who is outside."""
        one, serial = self.state.instrument, serial_as_read(self.state)
        if masked and serial != "not read":
            serial = mask_serial(serial.partition(" ")[0].strip(","))
        return [
            ("Maker, model", f"{one.maker} {one.model}"),
            ("Serial as read", serial),
            ("Weight", weight_as_found(self.state) or "not weighed"),
            ("Shop's tag", one.tag),
        ]
