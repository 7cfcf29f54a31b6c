"""What the tables of two shops must share to be joined: the ground on which both date.

A table depends on everything by which instruments are dated but the features that are exchanged:
priors, delays, states, signs, the serial curve, the other features, the years of production. Names,
notes, sources, the edition's name and what either shop learned do not enter. The *ground* is the
present edition without what was learned; its digest stands in every table.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from heelstamp.archive import digest_of
from heelstamp.chronology import Chronology, dating_model, feature_on, parse_chronology
from heelstamp.chronology.records import FeatureRow
from heelstamp.dating import DatingModel
from heelstamp.dating.change_quadrature import WIDTHS, CurveGrid
from heelstamp.dating.federation.tables import CENTRES_APART
from heelstamp.dating.model import Feature
from heelstamp.dating.teaching import FeatureGroup
from heelstamp.units import Period, parse_month

_SAID_ONLY = ("edition", "note", "maker", "model", "invented", "words", "exception", "inspection")
"""Tables of a chronology by which nothing is dated."""


def is_exchanged(row: FeatureRow) -> bool:
    """Whether the tables of a feature add up over shops: it has one change-over."""
    return len(row.change) == 1 and row.passing is None


def group_of(row: FeatureRow) -> FeatureGroup:
    """The features of the model that share a row's change-overs."""
    names = tuple(feature_on(row, part) for part in row.parts)
    return FeatureGroup(names, read_from_serial=row.from_serial is not None)


@dataclass(frozen=True)
class Ground:
    """What an edition dates by, without what was learned.

    Attributes
    ----------
    chronology
        The edition, its learned curves taken out.
    digest
        Of all that enters a table.
    """

    chronology: Chronology
    digest: str

    @classmethod
    def of(cls, document: Mapping[str, Any]) -> Ground:
        """The ground of an edition given as plain values."""
        bare = _without_learned(document)
        chronology = parse_chronology(bare, name="present edition")
        exchanged = {row.id for row in chronology.features if is_exchanged(row)}
        return cls(chronology, digest_of(_entering(bare, exchanged)))

    @cached_property
    def model(self) -> DatingModel:
        """The dating model."""
        return dating_model(self.chronology)

    @cached_property
    def rows(self) -> Mapping[str, FeatureRow]:
        """The features that are exchanged, by id."""
        return {row.id: row for row in self.chronology.features if is_exchanged(row)}

    @cached_property
    def groups(self) -> Mapping[str, FeatureGroup]:
        """Features of the model by id of what is exchanged."""
        return {id_: group_of(row) for id_, row in self.rows.items()}

    @cached_property
    def features(self) -> Mapping[str, Feature]:
        """One feature of the model by id of what is exchanged."""
        known = {one.name: one for one in self.model.features}
        return {id_: known[group.names[0]] for id_, group in self.groups.items()}

    @property
    def span(self) -> Period:
        """Months in which a change-over can lie."""
        production = self.chronology.production
        return Period(parse_month(production.first), parse_month(production.last))

    @cached_property
    def grid(self) -> CurveGrid:
        """Every curve that a change-over may have."""
        return CurveGrid(self.model.completion, self.span, CENTRES_APART)

    @property
    def shape(self) -> tuple[int, int]:
        """Centres and widths of a table."""
        return len(self.grid.points), len(WIDTHS)


def _without_learned(document: Mapping[str, Any]) -> dict[str, Any]:
    bare = copy.deepcopy(dict(document))
    for row in bare.get("feature", []):
        for one in [*row.get("change", []), row.get("passing") or {}]:
            one.pop("learned", None)
    return bare


def _entering(bare: Mapping[str, Any], exchanged: set[str]) -> dict[str, Any]:
    """What of an edition enters a table, and the grid of the table."""
    kept = {name: _unsourced(value) for name, value in bare.items() if name not in _SAID_ONLY}
    for row in kept.get("feature", []):
        row.pop("name", None)
        if row["id"] in exchanged:
            row["change"] = len(row["change"])
    for row in kept.get("sign", []):
        row.pop("name", None)
    return {"edition": kept, "centres_apart": CENTRES_APART, "widths": [*WIDTHS.tolist()]}


def _unsourced(value: Any) -> Any:
    """A plain value without its ``source`` fields."""
    if isinstance(value, Mapping):
        return {name: _unsourced(one) for name, one in value.items() if name != "source"}
    if isinstance(value, list):
        return [_unsourced(one) for one in value]
    return value
