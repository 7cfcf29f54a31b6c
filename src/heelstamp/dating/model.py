"""What is believed of one maker before an instrument is looked at: the model's tables.

Symbols in brackets are those of ``docs/methods/dating.md``. All tables are settings of a
chronology and are judgement unless a source is named there; this module only checks that they are
complete and consistent. Months are whole numbers (``heelstamp.units.Month``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from heelstamp.errors import InputError
from heelstamp.units import Month, MonthGrid

Array = npt.NDArray[np.float64]
"""An array of doubles; shapes are said where it is used."""

Index = npt.NDArray[np.intp]
"""An array of positions."""

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
class Part:
    """A part with its possible states (S_p) and how likely each is.

    Attributes
    ----------
    states, timing
        Names of the states and the timing class of each.
    undisturbed, disturbed
        P(S | D = 0) and P(S | D = 1), one number a state.
    lag
        Months from the part's make month to completion, P(lag = 0, 1, …); None takes the
        model's own.
    """

    name: str
    states: tuple[str, ...]
    timing: tuple[Timing, ...]
    undisturbed: tuple[float, ...]
    disturbed: tuple[float, ...]
    lag: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        where = f"part {self.name!r}"
        if not len(self.states) == len(self.timing) == len(self.undisturbed) == len(self.disturbed):
            raise ModelError(
                "states, timing and the two probability rows differ in length",
                where=where,
                remedy="Give one timing and two probabilities for each state.",
            )
        for row in (self.undisturbed, self.disturbed):
            check_distribution(row, where)
        if self.lag is not None:
            check_distribution(self.lag, f"{where}, lag")


@dataclass(frozen=True)
class Assembly:
    """Parts that are opened together, with P(disturbed | history class) in the model's order."""

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
        """Give the position of a variant.

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
    """A physical sign: P(outcome | state of its part) or P(outcome | assembly disturbed).

    ``table`` has one row a state (or two: undisturbed, disturbed) and one column an outcome.
    Signs of one ``group`` fail together: one common flag makes all of them say nothing.
    """

    name: str
    outcomes: tuple[str, ...]
    table: tuple[tuple[float, ...], ...]
    part: str | None = None
    assembly: str | None = None
    error: float = 0.01
    group: str | None = None

    def __post_init__(self) -> None:
        where = f"sign {self.name!r}"
        check_error(self.error, where)
        if (self.part is None) == (self.assembly is None):
            raise ModelError("a sign speaks of one part or of one assembly", where=where)
        for row in self.table:
            check_distribution(row, where)
            if len(row) != len(self.outcomes):
                raise ModelError("a row has another length than the outcomes", where=where)

    def outcome(self, name: str) -> int:
        """Give the position of an outcome.

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


@dataclass(frozen=True)
class DatingModel:
    """Everything known before this instrument was examined.

    Attributes
    ----------
    completion, marks
        Grids of completion months (T) and of make months (M_p). The second must reach from the
        longest lag before the first completion month up to the day of examination.
    prior
        P(T), one number a completion month.
    history
        Names of the history classes (H) with their probabilities.
    lag, gap_first, gap
        P(lag) of parts as built; first gap and P(gap) of period replacements (M = T + gap).
    later_from, later_anywhere
        A later part was made at any month of the grid with this share, else evenly from
        T + ``later_from`` months on.
    anchor
        The part that carries the instrument's identity; its first state has probability one,
        unless ``anchored`` is false, which only serves to compare hypotheses.
    group_failure
        P(common failure) of each group of signs.
    """

    completion: MonthGrid
    marks: MonthGrid
    prior: Array
    history: tuple[tuple[str, float], ...]
    assemblies: tuple[Assembly, ...]
    parts: tuple[Part, ...]
    lag: tuple[float, ...]
    gap_first: int
    gap: tuple[float, ...]
    later_from: int = 73
    later_anywhere: float = 0.15
    features: tuple[Feature, ...] = ()
    serial: SerialScheme | None = None
    signs: tuple[Sign, ...] = ()
    batches: tuple[Batch, ...] = ()
    group_failure: Mapping[str, float] = field(default_factory=dict)
    anchor: str = "body"
    anchored: bool = True

    def __post_init__(self) -> None:
        check_distribution(tuple(self.prior), "prior of the completion month")
        check_distribution(tuple(p for _, p in self.history), "history classes")
        check_distribution(self.lag, "lag")
        check_distribution(self.gap, "gap")
        self._check_parts()
        self._check_grids()
        for sign in self.signs:
            rows = 2 if sign.part is None else len(self.part(sign.part).states)
            if len(sign.table) != rows:
                raise ModelError(f"needs {rows} rows", where=f"sign {sign.name!r}")
            if sign.group is not None and sign.group not in self.group_failure:
                raise ModelError("no failure share for its group", where=f"sign {sign.name!r}")

    def _check_parts(self) -> None:
        listed = [name for assembly in self.assemblies for name in assembly.parts]
        if sorted(listed) != sorted(part.name for part in self.parts):
            raise ModelError(
                "assemblies and parts do not name the same parts",
                received=sorted(set(listed) ^ {part.name for part in self.parts}),
                remedy="List each part in exactly one assembly.",
            )
        for assembly in self.assemblies:
            if len(assembly.disturbed) != len(self.history):
                raise ModelError(
                    "needs one probability a history class", where=f"assembly {assembly.name!r}"
                )
        anchor = self.part(self.anchor)
        if self.anchored and (anchor.undisturbed[0] != 1 or anchor.disturbed[0] != 1):
            raise ModelError(
                "the anchor part must be in its first state with probability one",
                where=f"part {anchor.name!r}",
                remedy="Completion is defined as completion of the instrument of this part.",
            )
        for batch in self.batches:
            homes = {self.assembly_of(name).name for name in batch.parts}
            if len(homes) != 1:
                raise ModelError("parts of one batch lie in several assemblies", received=batch)
            if len({self.part(name).lag for name in batch.parts}) != 1:
                raise ModelError("parts of one batch have several lags", received=batch.parts)
        for feature in self.features:
            self.part(feature.part)

    def _check_grids(self) -> None:
        if len(self.prior) != len(self.completion):
            raise ModelError("prior and completion grid differ in length")
        longest = max(len(part.lag or self.lag) for part in self.parts)
        if self.completion.first + self.gap_first < self.marks.first:
            raise ModelError(
                "the grid of make months begins too late for the earliest replacement",
                remedy="Begin it earlier or shorten the gap.",
            )
        if self.completion.first - longest < self.marks.first - 1:
            raise ModelError(
                "the grid of make months begins too late for the longest lag",
                received=f"{longest} months",
                remedy="Begin it earlier or shorten the lag.",
            )
        if self.completion.last + self.gap_first + len(self.gap) - 1 > self.marks.last:
            raise ModelError(
                "the grid of make months ends too early for the latest replacement",
                remedy="End it later or shorten the gap.",
            )
        if self.completion.last + self.later_from >= self.marks.last:
            raise ModelError(
                "the grid of make months ends too early for later parts",
                remedy="A grid that ends with the last completion makes a later part impossible.",
            )

    def part(self, name: str) -> Part:
        """Find a part by name; ModelError when there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        raise ModelError(
            "no such part",
            received=name,
            remedy="Parts: " + ", ".join(part.name for part in self.parts) + ".",
        )

    def assembly_of(self, part: str) -> Assembly:
        """Find the assembly that holds *part*."""
        for assembly in self.assemblies:
            if part in assembly.parts:
                return assembly
        raise ModelError("no such part", received=part)

    def month(self, index: int) -> Month:
        """Turn a position on the completion grid into a month."""
        return self.completion.first + index


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
