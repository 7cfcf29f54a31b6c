"""Observations of many instruments laid out in columns, ready for array arithmetic.

One row an instrument; -1 stands for *not observed*. Marks are grouped by part, because marks on
one part share that part's make month (``mark_columns``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Document,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Mark,
    MonthLikelihood,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)
from heelstamp.dating.mark_columns import MarkColumns
from heelstamp.dating.model import Array, DatingModel, Index


@dataclass(frozen=True)
class EvidenceTable:
    """Columns of observations: see the module head.

    Attributes
    ----------
    features, serial_month, serial_weight
        (n, features) variant numbers; (n, k) positions on the completion grid, with weights.
    states
        For each part P(signs | state), shape (n, states), or None when nothing was seen.
    assemblies
        P(signs | disturbed), shape (n, assemblies, 2).
    months
        Factor on the completion month, shape (n, months), or None.
    marks
        For each marked part its marks.
    """

    count: int
    features: Index
    serial_month: Index
    serial_weight: Array
    states: list[Array | None]
    assemblies: Array
    months: Array | None
    marks: dict[str, MarkColumns]


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
        signs: list[SignSeen] = []
        for one in evidence:
            if isinstance(one, SignSeen):
                signs.append(one)
            else:
                filling.add(row, one)
        if signs:
            filling.add_signs(row, signs)
    return filling.table()


class _Filling:
    """Columns while they are being filled."""

    def __init__(self, compiled: CompiledModel, count: int) -> None:
        self.compiled, self.model, self.count = compiled, compiled.model, count
        self.features = np.full((count, len(self.model.features)), -1, dtype=np.intp)
        self.states: list[Array | None] = [None] * len(self.model.parts)
        self.assemblies = np.ones((count, len(self.model.assemblies), 2))
        self.months: Array | None = None
        self.marks: dict[str, list[tuple[int, Mark]]] = defaultdict(list)
        self.serials: dict[int, SerialNumber] = {}

    def add(
        self,
        row: int,
        one: Mark | FeatureSeen | SerialNumber | StateLikelihood | Document | MonthLikelihood,
    ) -> None:
        if isinstance(one, FeatureSeen):
            self._add_feature(row, one)
        elif isinstance(one, Mark):
            if one.part not in self.compiled.part_index:
                self.model.part(one.part)  # raises, naming the parts there are
            self.marks[one.part].append((row, one))
        elif isinstance(one, SerialNumber):
            if row in self.serials:
                raise EvidenceError(
                    "an instrument has one serial number",
                    remedy="Give doubtful digits as several months with weights.",
                )
            self.serials[row] = one
        elif isinstance(one, StateLikelihood):
            self._multiply_state(row, one.part, _by_state(self.model, one))
        else:
            if self.months is None:
                self.months = np.ones((self.count, len(self.model.completion)))
            self.months[row] *= _month_factor(self.model, one)

    def _add_feature(self, row: int, one: FeatureSeen) -> None:
        found = self.compiled.variants.get((one.feature, one.variant))
        if found is None:
            column = self.compiled.feature_index.get(one.feature)
            if column is not None:
                self.model.features[column].variant(one.variant)  # raises, naming the variants
            raise EvidenceError(
                "no such feature",
                received=one.feature,
                remedy="Features: " + ", ".join(self.compiled.feature_index) + ".",
            )
        if self.features[row, found[0]] >= 0:
            raise EvidenceError(
                "a feature was observed twice on one instrument",
                where=f"instrument {row + 1}",
                received=one.feature,
                remedy="Withdraw one of the two observations.",
            )
        self.features[row, found[0]] = found[1]

    def _multiply_state(self, row: int, part: str, by: Array) -> None:
        index = self.compiled.part_index[part]
        table = self.states[index]
        if table is None:
            table = np.ones((self.count, len(self.model.parts[index].states)))
            self.states[index] = table
        table[row] *= by

    def add_signs(self, row: int, seen: Sequence[SignSeen]) -> None:
        """Multiply signs in; those of one group share a failure: (1 - k) prod P + k prod 1/n."""
        groups: dict[tuple[str, str | None, str | None], list[tuple[Array, float]]] = {}
        for one in seen:
            sign = self.compiled.signs.get(one.sign)
            if sign is None:
                raise EvidenceError(
                    "no such sign",
                    received=one.sign,
                    remedy="Signs: " + ", ".join(self.compiled.signs) + ".",
                )
            factor = self.compiled.outcomes.get((one.sign, one.outcome))
            if factor is None:
                sign.outcome(one.outcome)  # raises, naming the outcomes
            elif sign.group is None:
                self._multiply(row, sign.part, sign.assembly, factor)
            else:
                key = (sign.group, sign.part, sign.assembly)
                groups.setdefault(key, []).append((factor, 1 / len(sign.outcomes)))
        for (group, part, assembly), members in groups.items():
            failure = self.model.group_failure[group]
            joint = np.prod([factor for factor, _ in members], axis=0)
            blank = float(np.prod([share for _, share in members]))
            self._multiply(row, part, assembly, (1 - failure) * joint + failure * blank)

    def _multiply(self, row: int, part: str | None, assembly: str | None, factor: Array) -> None:
        if part is not None:
            self._multiply_state(row, part, factor)
        else:
            place = [one.name for one in self.model.assemblies].index(assembly or "")
            self.assemblies[row, place] *= factor

    def table(self) -> EvidenceTable:
        month, weight = self._serial_columns()
        marks = {
            part: MarkColumns.make(self.compiled, part, ones) for part, ones in self.marks.items()
        }
        return EvidenceTable(
            self.count,
            self.features,
            month,
            weight,
            self.states,
            self.assemblies,
            self.months,
            marks,
        )

    def _serial_columns(self) -> tuple[Index, Array]:
        if self.serials and self.compiled.serial is None:
            raise EvidenceError(
                "this chronology has no serial scheme",
                remedy="Leave the serial out of the dating.",
            )
        width = max((len(one.months) for one in self.serials.values()), default=1)
        span = len(self.model.completion)
        month = np.full((self.count, width), span, dtype=np.intp)
        weight = np.zeros((self.count, width))
        weight[:, 0] = 1.0
        for row, one in self.serials.items():
            for place, (nominal, share) in enumerate(one.months):
                position = nominal - self.model.completion.first
                month[row, place] = min(max(position, 0), span - 1)
                weight[row, place] = share
        return month, weight


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
