"""Observations of many instruments laid out in columns, ready for array arithmetic.

One row an instrument. -1 stands for *not observed*. Marks are grouped by part, because marks on
one part share that part's make month.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from heelstamp.dating.changeover import FeatureTables, SerialTables
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
from heelstamp.dating.model import DatingModel, Timing
from heelstamp.dating.timing import Lag, MarkKernels, Spread, difference_kernel, later_scale

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.intp]

TIMINGS = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)


class CompiledModel:
    """Tables of a model that do not depend on any observation; kernels are made when first used."""

    def __init__(self, model: DatingModel) -> None:
        self.model = model
        self.prior = np.asarray(model.prior, dtype=float)
        self.features = [FeatureTables.make(model, one) for one in model.features]
        self.feature_index = {one.name: i for i, one in enumerate(model.features)}
        self.serial = SerialTables.make(model, model.serial) if model.serial else None
        self.signs = {one.name: one for one in model.signs}
        self.part_index = {one.name: i for i, one in enumerate(model.parts)}
        self.even_later, self.scaled_later = later_scale(model)
        names = [name for name, _ in model.history]
        self.history = np.array([p for _, p in model.history])
        self.disturbed = np.array([one.disturbed for one in model.assemblies]).reshape(
            len(model.assemblies), len(names)
        )
        # P(S | D) summed by timing class happens per instrument; the one-hot map is fixed
        self.state_prior = [np.array([p.undisturbed, p.disturbed]) for p in model.parts]
        self.state_class = [
            np.array([[timing is one for one in TIMINGS] for timing in p.timing], dtype=float)
            for p in model.parts
        ]
        self.feature_of_part: dict[str, list[int]] = defaultdict(list)
        for i, one in enumerate(model.features):
            self.feature_of_part[one.part].append(i)
        self._kernels: dict[tuple[Lag, Spread], MarkKernels] = {}
        self._plain: dict[Lag, Array] = {}

    def lag_of(self, part: str) -> Lag:
        """Give P(lag) of a part as built."""
        return self.model.part(part).lag or self.model.lag

    def kernels(self, part: str, spread: Spread) -> MarkKernels:
        """Give the kernels for marks with *spread* on *part*."""
        key = (self.lag_of(part), spread)
        if key not in self._kernels:
            self._kernels[key] = MarkKernels.make(self.model, *key)
        return self._kernels[key]

    def plain_lag(self, part: str) -> Array:
        """Give the built kernel of *part* without spread, for products of make-month functions."""
        lag = self.lag_of(part)
        if lag not in self._plain:
            self._plain[lag] = difference_kernel(
                self.model, tuple(reversed(lag)), -(len(lag) - 1), ((0, 1.0),)
            )
        return self._plain[lag]


@dataclass
class PartMarks:
    """Marks on one part: for each, its row, and how to build its likelihood of the make month."""

    rows: list[int] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)


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
    marks: dict[str, PartMarks]


def encode(compiled: CompiledModel, instruments: Sequence[Evidence]) -> EvidenceTable:
    """Lay the observations of *instruments* out in columns.

    Raises
    ------
    EvidenceError, ModelError
        An observation names a part, feature, variant, sign or outcome the model does not know, or
        an instrument has two serial numbers.
    """
    model = compiled.model
    count = len(instruments)
    features = np.full((count, len(model.features)), -1, dtype=np.intp)
    states: list[Array | None] = [None] * len(model.parts)
    assemblies = np.ones((count, len(model.assemblies), 2))
    months: Array | None = None
    marks: dict[str, PartMarks] = {}
    serials: dict[int, SerialNumber] = {}
    extra: list[tuple[int, FeatureSeen]] = []
    for row, evidence in enumerate(instruments):
        signs: list[SignSeen] = []
        for one in evidence:
            if isinstance(one, Mark):
                if one.part not in compiled.part_index:
                    model.part(one.part)
                group = marks.setdefault(one.part, PartMarks())
                group.rows.append(row)
                group.marks.append(one)
            elif isinstance(one, FeatureSeen):
                column = compiled.feature_index.get(one.feature)
                if column is None:
                    raise EvidenceError(
                        "no such feature", received=one.feature, remedy="See the chronology."
                    )
                if features[row, column] >= 0:
                    extra.append((row, one))
                features[row, column] = model.features[column].variant(one.variant)
            elif isinstance(one, SignSeen):
                signs.append(one)
            elif isinstance(one, SerialNumber):
                if row in serials:
                    raise EvidenceError(
                        "an instrument has one serial number",
                        remedy="Give doubtful digits as several months with weights.",
                    )
                serials[row] = one
            elif isinstance(one, StateLikelihood):
                _multiply_state(compiled, states, count, row, one.part, _filled(compiled, one))
            elif months is None:
                months = np.ones((count, len(model.completion)))
                months[row] = _month_factor(model, one)
            else:
                months[row] *= _month_factor(model, one)
        if signs:
            _multiply_signs(compiled, states, assemblies, row, count, signs)
    if extra:
        row, seen = extra[0]
        raise EvidenceError(
            "a feature was observed twice on one instrument",
            where=f"instrument {row + 1}",
            received=seen.feature,
            remedy="Withdraw one of the two observations.",
        )
    serial_month, serial_weight = _serial_columns(compiled, count, serials)
    return EvidenceTable(
        count, features, serial_month, serial_weight, states, assemblies, months, marks
    )


def _filled(compiled: CompiledModel, seen: StateLikelihood) -> Array:
    part = compiled.model.part(seen.part)
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


def _multiply_state(
    compiled: CompiledModel, states: list[Array | None], count: int, row: int, part: str, by: Array
) -> None:
    index = compiled.part_index[part]
    table = states[index]
    if table is None:
        table = np.ones((count, len(compiled.model.parts[index].states)))
        states[index] = table
    table[row] *= by


def _multiply_signs(
    compiled: CompiledModel,
    states: list[Array | None],
    assemblies: Array,
    row: int,
    count: int,
    seen: Iterable[SignSeen],
) -> None:
    """Multiply signs in: P(o | s) = (1 - e) table + e / outcomes; a group shares one failure."""
    groups: dict[tuple[str, str], list[tuple[Array, float]]] = defaultdict(list)
    model = compiled.model
    for one in seen:
        sign = compiled.signs.get(one.sign)
        if sign is None:
            raise EvidenceError(
                "no such sign",
                received=one.sign,
                remedy="Signs: " + ", ".join(compiled.signs) + ".",
            )
        blank = 1 / len(sign.outcomes)
        column = np.array([cells[sign.outcome(one.outcome)] for cells in sign.table])
        factor = (1 - sign.error) * column + sign.error * blank
        target = sign.part or f"assembly {sign.assembly}"
        if sign.group is None:
            _apply_sign(compiled, states, assemblies, row, count, target, factor)
        else:
            groups[target, sign.group].append((factor, blank))
    for (target, group), members in groups.items():
        failure = model.group_failure[group]
        joint = np.prod([factor for factor, _ in members], axis=0)
        blank = float(np.prod([share for _, share in members]))
        factor = (1 - failure) * joint + failure * blank
        _apply_sign(compiled, states, assemblies, row, count, target, factor)


def _apply_sign(
    compiled: CompiledModel,
    states: list[Array | None],
    assemblies: Array,
    row: int,
    count: int,
    target: str,
    factor: Array,
) -> None:
    if target.startswith("assembly "):
        names = [one.name for one in compiled.model.assemblies]
        assemblies[row, names.index(target.removeprefix("assembly "))] *= factor
    else:
        _multiply_state(compiled, states, count, row, target, factor)


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
    return seen.reliability * inside + wrong * max(inside.sum(), 1) / span


def _serial_columns(
    compiled: CompiledModel, count: int, serials: dict[int, SerialNumber]
) -> tuple[Index, Array]:
    width = max((len(one.months) for one in serials.values()), default=1)
    span = len(compiled.model.completion)
    month = np.full((count, width), span, dtype=np.intp)
    weight = np.zeros((count, width))
    weight[:, 0] = 1.0
    if serials and compiled.serial is None:
        raise EvidenceError(
            "this chronology has no serial scheme", remedy="Leave the serial out of the dating."
        )
    for row, one in serials.items():
        for place, (nominal, share) in enumerate(one.months):
            position = nominal - compiled.model.completion.first
            month[row, place] = min(max(position, 0), span - 1)
            weight[row, place] = share
    return month, weight
