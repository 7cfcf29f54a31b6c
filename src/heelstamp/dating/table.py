"""Observations of many instruments laid out in columns, ready for array arithmetic.

One row an instrument; -1 stands for *not observed*. Marks are grouped by part, because marks on
one part share that part's make month (``mark_columns``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from heelstamp.dating.compiled import CompiledModel, SignGroup
from heelstamp.dating.evidence import (
    Document,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Mark,
    MixedSet,
    MonthLikelihood,
    Observation,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)
from heelstamp.dating.mark_columns import MarkColumns
from heelstamp.dating.model import Array, DatingModel, Index
from heelstamp.dating.timing import distinct


@dataclass(frozen=True)
class EvidenceTable:
    """Columns of observations: see the module head.

    Attributes
    ----------
    features
        Variant numbers, (n, features).
    serial, serials
        Which serial each instrument has, (n,); positions on the completion grid and weights of
        each different one.
    states
        For each part P(signs | state), shape (n, states), or None when nothing was seen.
    openings
        For each opening that was looked at P(seen | closed; opened; opened by a careful hand;
        opened by any hand), (n, 4), by position.
    mixed
        For each set with a look at whether it is mixed P(seen | swapped whole), (n,).
    months
        Factor on the completion month, shape (n, months), or None.
    marks
        For each marked part its marks.
    """

    count: int
    features: Index
    serial: Index
    serials: tuple[tuple[Index, Array], ...]
    states: list[Array | None]
    openings: dict[int, Array]
    mixed: dict[int, Array]
    months: Array | None
    marks: dict[str, MarkColumns]

    @cached_property
    def looked(self) -> frozenset[int]:
        """Positions of the features that were observed on any of the instruments."""
        return _looked(self.features)


def _looked(columns: Index) -> frozenset[int]:
    """The columns in which anything stands."""
    return frozenset(np.nonzero((columns >= 0).any(axis=0))[0].tolist())


def encode(compiled: CompiledModel, instruments: Sequence[Evidence]) -> EvidenceTable:
    """Lay the observations of *instruments* out in columns.

    Raises
    ------
    EvidenceError, ModelError
        An observation names a part, feature, variant, sign or outcome the model does not know,
        a feature was observed twice, or an instrument has two serial numbers.
    """
    filling = _Filling(compiled, len(instruments))
    for row, evidence in enumerate(instruments):
        filling.add(row, evidence)
    return filling.table()


class _Filling:
    """Columns while they are being filled.

    Features and signs are kept as cells, ``row * columns + column``, with values beside them.
    """

    def __init__(self, compiled: CompiledModel, count: int) -> None:
        self.compiled, self.model, self.count = compiled, compiled.model, count
        self.feature_cells: list[int] = []
        self.feature_values: list[int] = []
        self.sign_cells: list[int] = []
        self.sign_values: list[int] = []
        self.states: list[Array | None] = [None] * len(self.model.parts)
        self.openings: dict[int, Array] = {}
        self.mixed: dict[int, Array] = {}
        self.months: Array | None = None
        self.marks: dict[str, list[tuple[int, Mark]]] = defaultdict(list)
        self.serial = np.full(count, -1, dtype=np.intp)
        self.serials: dict[SerialNumber, int] = {}
        self.likelihoods: list[tuple[int, StateLikelihood]] = []
        self.known: dict[int, Array] = {}

    def add(self, row: int, evidence: Evidence) -> None:
        """Add all observations of one instrument."""
        variants, outcomes = self.compiled.variants, self.compiled.outcomes
        feature_base = row * len(self.model.features)
        sign_base = row * len(self.model.signs)
        for one in evidence:
            if isinstance(one, FeatureSeen):
                found = variants.get((one.feature, one.variant))
                if found is None:
                    raise self._unknown_variant(one)
                self.feature_cells.append(feature_base + found[0])
                self.feature_values.append(found[1])
            elif isinstance(one, SignSeen):
                found = outcomes.get((one.sign, one.outcome))
                if found is None:
                    raise self._unknown_outcome(one)
                self.sign_cells.append(sign_base + found[0])
                self.sign_values.append(found[1])
            elif isinstance(one, Mark):
                if one.part not in self.compiled.part_index:
                    self.model.part(one.part)  # raises, naming the parts there are
                self.marks[one.part].append((row, one))
            else:
                self._add_rarer(row, one)

    def _add_rarer(self, row: int, one: Observation) -> None:
        """Add what an instrument has once or twice."""
        if isinstance(one, SerialNumber):
            self._add_serial(row, one)
        elif isinstance(one, StateLikelihood):
            self.likelihoods.append((row, one))
        elif isinstance(one, ScrewsSeen):
            self._add_screws(row, one)
        elif isinstance(one, MixedSet):
            place = self.compiled.set_index.get(one.set)
            if place is None:
                raise _unknown("set", one.set, self.compiled.set_index)
            seen = self.mixed.setdefault(place, np.ones(self.count))
            seen[row] *= one.error
        elif isinstance(one, (Document, MonthLikelihood)):
            if self.months is None:
                self.months = np.ones((self.count, len(self.model.completion)))
            # hypothetical rows hold the same objects many times
            factor = self.known.get(id(one))
            if factor is None:
                factor = self.known[id(one)] = _month_factor(self.model, one)
            self.months[row] *= factor

    def _unknown_variant(self, one: FeatureSeen) -> EvidenceError:
        column = self.compiled.feature_index.get(one.feature)
        if column is not None:
            self.model.features[column].variant(one.variant)  # raises, naming the variants
        return _unknown("feature", one.feature, self.compiled.feature_index)

    def _unknown_outcome(self, one: SignSeen) -> EvidenceError:
        sign = self.compiled.signs.get(one.sign)
        if sign is not None:
            sign.outcome(one.outcome)  # raises, naming the outcomes
        return _unknown("sign", one.sign, self.compiled.signs)

    def _add_screws(self, row: int, one: ScrewsSeen) -> None:
        place = self.compiled.columns.openings.get(one.opening)
        if place is None:
            raise _unknown("opening", one.opening, self.compiled.columns.openings)
        factor = self.known.get(id(one))
        if factor is None:
            seen = self.model.screws.likelihood(one.count, one.turned)
            factor = self.known[id(one)] = np.array(seen)
        self._look(place)[row, :3] *= factor

    def _look(self, place: int) -> Array:
        """The looks at the opening at *place*, ones where there was none."""
        return self.openings.setdefault(place, np.ones((self.count, 4)))

    def _add_serial(self, row: int, one: SerialNumber) -> None:
        if self.compiled.serial is None:
            raise EvidenceError(
                "this chronology has no serial scheme", remedy="Leave the serial out of the dating."
            )
        if self.serial[row] >= 0:
            raise EvidenceError(
                "an instrument has one serial number",
                remedy="Give doubtful digits as several months with weights.",
            )
        self.serial[row] = self.serials.setdefault(one, len(self.serials))

    def table(self) -> EvidenceTable:
        """The table when everything was added."""
        features = self._columns(self.feature_cells, self.feature_values, len(self.model.features))
        if len(features) > 1:
            row, column = np.argwhere(features[1] >= 0)[0].tolist()
            raise EvidenceError(
                "a feature was observed twice on one instrument",
                where=f"instrument {row + 1}",
                received=self.model.features[column].name,
                remedy="Withdraw one of the two observations.",
            )
        signs = self._columns(self.sign_cells, self.sign_values, len(self.model.signs))
        looked = frozenset[int]().union(*map(_looked, signs))
        for group in self.compiled.sign_groups:
            if not looked.isdisjoint(group.columns):
                self._multiply_signs(group, signs)
        for row, one in self.likelihoods:
            factor = self.known.get(id(one))
            if factor is None:
                factor = self.known[id(one)] = _by_state(self.model, one)
            self._state_factor(self.compiled.part_index[one.part])[row] *= factor
        first, last = self.model.completion.first, len(self.model.completion) - 1
        return EvidenceTable(
            self.count,
            features[0],
            self.serial,
            tuple(
                (
                    np.clip(np.array([month for month, _ in one.months]) - first, 0, last),
                    np.array([weight for _, weight in one.months]),
                )
                for one in self.serials
            ),
            self.states,
            self._openings(),
            self.mixed,
            self.months,
            {
                part: MarkColumns.make(self.compiled, part, ones, self.count)
                for part, ones in self.marks.items()
            },
        )

    def _openings(self) -> dict[int, Array]:
        """Average over the careful hand, for looks that alone tell of it."""
        for place, seen in self.openings.items():
            share = self.compiled.careful[place]
            seen[:, 3] = (1 - share) * seen[:, 1] + share * seen[:, 2]
        return self.openings

    def _columns(self, cells: list[int], values: list[int], width: int) -> list[Index]:
        """Lay cells out, (n, width); what was observed again goes to a further layer."""
        layers: list[Index] = []
        cell, value = np.array(cells, dtype=np.intp), np.array(values, dtype=np.intp)
        while len(cell) or not layers:
            layer = np.full(self.count * width, -1, dtype=np.intp)
            layer[cell[::-1]] = value[::-1]
            layers.append(layer.reshape(self.count, width))
            if len(cell) == np.count_nonzero(layer >= 0):
                break
            again = np.ones(len(cell), dtype=bool)
            again[distinct(cell)[1]] = False
            cell, value = cell[again], value[again]
        return layers

    def _multiply_signs(self, group: SignGroup, layers: list[Index]) -> None:
        """Multiply signs in; those of one group share a failure: (1 - k) prod P + k prod 1/n."""
        joint: Array | None = None
        blank = np.ones(self.count)
        for column in group.columns:
            for layer in layers:
                seen = layer[:, column]
                if seen.max() < 0:
                    continue
                factor = self.compiled.sign_tables[column][seen]
                joint = factor if joint is None else joint * factor
                if group.failure:
                    blank[seen >= 0] /= len(self.model.signs[column].outcomes)
        if joint is None:
            return
        if group.failure:
            joint = (1 - group.failure) * joint + group.failure * blank[:, None]
        if group.part is not None:
            self._state_factor(group.part)[:] *= joint
        else:
            assert group.opening is not None
            self._look(group.opening)[:, :3] *= joint

    def _state_factor(self, part: int) -> Array:
        table = self.states[part]
        if table is None:
            table = np.ones((self.count, len(self.model.parts[part].states)))
            self.states[part] = table
        return table


def _unknown(kind: str, name: str, known: Iterable[str]) -> EvidenceError:
    return EvidenceError(
        f"no such {kind}", received=name, remedy=f"{kind.capitalize()}s: " + ", ".join(known) + "."
    )


def _by_state(model: DatingModel, seen: StateLikelihood) -> Array:
    part = model.part(seen.part)
    unknown = sorted(set(seen.likelihoods) - set(part.states))
    if unknown:
        raise EvidenceError(
            "no such state",
            where=f"part {seen.part!r}",
            received=unknown[0],
            remedy="States: " + ", ".join(part.states) + ".",
        )
    least = min(seen.likelihoods.values())
    return np.array([seen.likelihoods.get(name, least) for name in part.states])


def _month_factor(model: DatingModel, seen: Document | MonthLikelihood) -> Array:
    span = len(model.completion)
    if isinstance(seen, MonthLikelihood):
        values = np.asarray(seen.values, dtype=float)
        if values.shape != (span,) or not (values > 0).all():
            raise EvidenceError("needs one positive number a completion month")
        return values
    months = np.arange(span) + model.completion.first
    inside = (months >= seen.period.first) & (months <= seen.period.last)
    wrong = 1 - seen.reliability
    floor = wrong * max(int(inside.sum()), 1) / span
    return np.asarray(seen.reliability * inside + floor, dtype=np.float64)
