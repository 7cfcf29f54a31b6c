"""What is believed of one maker before an instrument is looked at: all tables together.

Symbols in brackets are those of ``docs/methods/dating.md``. All tables are settings of a
chronology and are judgement unless a source is named there; this module only checks that they are
complete and consistent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heelstamp.dating.elements import (
    Array,
    Assembly,
    Batch,
    Feature,
    Index,
    LearnedTransition,
    ModelError,
    Part,
    SerialScheme,
    Sign,
    Timing,
    Transition,
    check_distribution,
    check_error,
)
from heelstamp.units import Month, MonthGrid

__all__ = [
    "Array",
    "Assembly",
    "Batch",
    "DatingModel",
    "Feature",
    "Index",
    "LearnedTransition",
    "ModelError",
    "Part",
    "SerialScheme",
    "Sign",
    "Timing",
    "Transition",
    "check_distribution",
    "check_error",
]


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
