"""The elements a dating model is made of: parts, assemblies, features, serial scheme, signs, lots.

Each checks itself; how they fit together is checked by ``model``. Probabilities are judgement
unless a chronology names a source. Months are whole numbers (``heelstamp.units.Month``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from heelstamp.errors import InputError
from heelstamp.units import Month

Array = npt.NDArray[np.float64]
"""An array of doubles; shapes are said where it is used."""

Index = npt.NDArray[np.intp]
"""An array of positions."""

Paths = tuple[tuple[str, ...], ...]
"""Several ways, each a list of openings: one way with all its openings open is enough."""

SUM_TOLERANCE = 1e-6
"""How far a probability table may miss a sum of one; printed tables are rounded."""


class ModelError(InputError):
    """A table of the model is incomplete or inconsistent."""


class Timing(StrEnum):
    """When a part in a given state was made, relative to completion of the instrument (T)."""

    BUILT = "built"
    PERIOD = "period"
    LATER = "later"
    DONOR = "donor"


@dataclass(frozen=True)
class Level:
    """P(state) of a part once one of its paths is open, in the order of the part's states."""

    path: Paths
    p: tuple[float, ...]


@dataclass(frozen=True)
class Part:
    """A part with its possible states (S_p) and how likely each is.

    Attributes
    ----------
    states, timing
        Names of the states and the timing class of each.
    undisturbed
        P(S) while no path to the part is open, one number a state.
    disturbed
        P(S) once its assembly was disturbed; None for a part that has ``levels``.
    lag
        Months from the part's make month to completion, P(lag = 0, 1, …); None takes the
        model's own.
    levels
        Tables in order: the first whose path is open holds, else ``undisturbed``.
    """

    name: str
    states: tuple[str, ...]
    timing: tuple[Timing, ...]
    undisturbed: tuple[float, ...]
    disturbed: tuple[float, ...] | None = None
    lag: tuple[float, ...] | None = None
    levels: tuple[Level, ...] = ()

    def __post_init__(self) -> None:
        where = f"part {self.name!r}"
        rows = self.tables
        if {len(self.states), len(self.timing), *map(len, rows)} != {len(self.states)}:
            raise ModelError(
                "states, timing and the probability rows differ in length",
                where=where,
                remedy="Give one timing, and one probability a row, for each state.",
            )
        for row in rows:
            check_distribution(row, where)
        if self.disturbed is not None and self.levels:
            raise ModelError(
                "a part has a table for its disturbed assembly, or levels, not both", where=where
            )
        if self.lag is not None:
            check_distribution(self.lag, f"{where}, lag")

    @property
    def tables(self) -> tuple[tuple[float, ...], ...]:
        """Every P(S) it may have, ``undisturbed`` first."""
        reached = [level.p for level in self.levels]
        return (self.undisturbed, *([self.disturbed] if self.disturbed is not None else reached))

    def with_tables(self, tables: Sequence[tuple[float, ...]]) -> Part:
        """The part with other P(S), in the order of ``tables``."""
        first, *others = tables
        if self.disturbed is not None:
            return replace(self, undisturbed=first, disturbed=others[0])
        levels = tuple(replace(old, p=p) for old, p in zip(self.levels, others, strict=True))
        return replace(self, undisturbed=first, levels=levels)


@dataclass(frozen=True)
class Assembly:
    """Parts that are opened together, with P(disturbed | history class) in the model's order.

    The short way to say: one opening of this name, by which the ``disturbed`` table of every part
    is reached, and no careful hand.
    """

    name: str
    parts: tuple[str, ...]
    disturbed: tuple[float, ...]


@dataclass(frozen=True)
class Transition:
    """One change-over: a logistic in the completion month with centre and width in months."""

    centre: float
    width: float

    def __post_init__(self) -> None:
        if not self.width > 0:
            raise ModelError(
                "a change-over needs a positive width", received=self.width, remedy="Months > 0."
            )


@dataclass(frozen=True)
class LearnedTransition:
    """One change-over as a table: P(it had happened | completion month), averaged over doubt.

    Constant outside the months from ``first`` on that ``values`` covers. It need not rise: for a
    variant that came and went it is the share that has it.
    """

    first: Month
    values: tuple[float, ...]

    def __post_init__(self) -> None:
        values = np.asarray(self.values, dtype=float)
        if not values.size or not ((values >= 0) & (values <= 1)).all():
            raise ModelError(
                "a learned change-over needs shares of one",
                received=self.values[:5],
                remedy="Give one number from 0 to 1 a month.",
            )


@dataclass(frozen=True)
class Feature:
    """Ordered factory variants of one part and, last, whatever else may be seen.

    Attributes
    ----------
    variants
        Factory variants in their order; one more than ``transitions`` has entries; further
        names (such as ``non_factory``) never left the factory.
    later
        P(variant | part fitted later), one number a variant.
    error
        Share of mistaken observations, spread evenly over the variants.
    passing
        For a variant that came and went: (first month, last month, share of instruments, edge
        width in months); then ``transitions`` is empty and ``variants`` is (usual, passing, …).
    """

    name: str
    part: str
    variants: tuple[str, ...]
    transitions: tuple[Transition | LearnedTransition, ...]
    later: tuple[float, ...]
    error: float = 0.01
    passing: tuple[float, float, float, float] | None = None

    def __post_init__(self) -> None:
        where = f"feature {self.name!r}"
        check_distribution(self.later, f"{where}, later")
        check_error(self.error, where)
        factory = 2 if self.passing else len(self.transitions) + 1
        if len(self.later) != len(self.variants) or len(self.variants) < factory:
            raise ModelError(
                f"{len(self.variants)} variants, {len(self.transitions)} transitions and "
                f"{len(self.later)} later probabilities do not fit",
                where=where,
                remedy="Give one transition fewer than factory variants, one probability each.",
            )

    def variant(self, name: str) -> int:
        """The position of a variant.

        Raises
        ------
        ModelError
            The feature has no such variant.
        """
        if name not in self.variants:
            raise ModelError(
                "no such variant",
                where=f"feature {self.name!r}",
                received=name,
                remedy="Variants: " + ", ".join(self.variants) + ".",
            )
        return self.variants.index(name)


@dataclass(frozen=True)
class SerialScheme:
    """How a serial number points to a month: scatter about the curve of ``knots``.

    The kernel is Student's t with 3 degrees of freedom and the given scale in months, normalised
    over the completion grid: heavy tails, because plates were drawn from a bin.
    """

    part: str
    scale: float = 5.0
    bias: float = 0.0
    error: float = 0.01

    def __post_init__(self) -> None:
        check_error(self.error, "serial scheme")
        if not self.scale > 0:
            raise ModelError("the serial scale must be positive", received=self.scale)


@dataclass(frozen=True)
class Sign:
    """A physical sign of a part's state, of an assembly's disturbance, or of an opening.

    ``table`` has one column an outcome and one row a state (or two: undisturbed, disturbed; or
    three: closed, opened, opened by a careful hand).
    Signs of one ``group`` fail together: one common flag makes all of them say nothing.
    """

    name: str
    outcomes: tuple[str, ...]
    table: tuple[tuple[float, ...], ...]
    part: str | None = None
    assembly: str | None = None
    error: float = 0.01
    group: str | None = None
    opening: str | None = None

    def __post_init__(self) -> None:
        where = f"sign {self.name!r}"
        check_error(self.error, where)
        if [self.part, self.assembly, self.opening].count(None) != 2:
            raise ModelError(
                "a sign speaks of one part, of one assembly or of one opening", where=where
            )
        for row in self.table:
            check_distribution(row, where)
            if len(row) != len(self.outcomes):
                raise ModelError("a row has another length than the outcomes", where=where)

    def outcome(self, name: str) -> int:
        """The position of an outcome.

        Raises
        ------
        ModelError
            The sign has no such outcome.
        """
        if name not in self.outcomes:
            raise ModelError(
                "no such outcome",
                where=f"sign {self.name!r}",
                received=name,
                remedy="Outcomes: " + ", ".join(self.outcomes) + ".",
            )
        return self.outcomes.index(name)


@dataclass(frozen=True)
class Batch:
    """Parts whose original specimens usually come from one lot, and how usually (0 to 1)."""

    parts: tuple[str, ...]
    share: float = 1.0

    def __post_init__(self) -> None:
        if not 0 <= self.share <= 1 or len(set(self.parts)) != len(self.parts):
            raise ModelError(
                "a lot has a share from 0 to 1 and each part once", received=self.parts
            )


def check_distribution(row: tuple[float, ...], where: str) -> None:
    """Raise ModelError unless *row* is a probability distribution."""
    values = np.asarray(row, dtype=float)
    if values.size == 0 or not np.isfinite(values).all() or (values < 0).any():
        raise ModelError("probabilities must be finite and not negative", where=where)
    if abs(values.sum() - 1) > SUM_TOLERANCE:
        raise ModelError(
            "probabilities do not add to one", where=where, received=f"{values.sum():.9g}"
        )


def check_error(error: float, where: str) -> None:
    """Raise ModelError unless *error* is a share strictly between 0 and 1."""
    if not 0 < error < 1:
        raise ModelError(
            "an error share lies strictly between 0 and 1",
            where=where,
            received=error,
            remedy="No observation is infallible; 0.01 is usual.",
        )
