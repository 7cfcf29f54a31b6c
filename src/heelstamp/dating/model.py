"""What is believed of one maker before an instrument is looked at: all tables together.

Symbols in brackets are those of ``docs/methods/dating.md``. All tables are settings of a
chronology and are judgement unless a source is named there; this module only checks that they are
complete and consistent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from heelstamp.dating.elements import (
    Array,
    Assembly,
    Batch,
    Feature,
    Index,
    LearnedTransition,
    Level,
    ModelError,
    Part,
    SerialScheme,
    Sign,
    Timing,
    Transition,
    check_distribution,
    check_error,
)
from heelstamp.dating.openings import CAREFUL, Opening, PartSet, Screws
from heelstamp.units import Month, MonthGrid

__all__ = [
    "Array",
    "Assembly",
    "Batch",
    "DatingModel",
    "Feature",
    "Index",
    "LearnedTransition",
    "Level",
    "ModelError",
    "Opening",
    "Part",
    "PartSet",
    "Screws",
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
    openings, sets
        What could have been done, and what is swapped whole. ``assemblies`` say the same in
        short; a model may have both.
    careful, careful_default
        P(a careful hand left no trace at an access), where named, and elsewhere.
    foreign_opens
        Openings certainly done if the anchor came from another instrument.
    assembled
        History classes in which the instrument was put together from several.
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
    openings: tuple[Opening, ...] = ()
    sets: tuple[PartSet, ...] = ()
    careful: Mapping[str, float] = field(default_factory=dict)
    careful_default: float = CAREFUL
    screws: Screws = field(default_factory=Screws)
    foreign_opens: tuple[str, ...] = ()
    assembled: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_distribution(tuple(self.prior), "prior of the completion month")
        check_distribution(tuple(p for _, p in self.history), "history classes")
        check_distribution(self.lag, "lag")
        check_distribution(self.gap, "gap")
        self._check_parts()
        self._check_grids()
        self._check_openings()
        for sign in self.signs:
            rows = 2 if sign.opening is None else 3
            if sign.part is not None:
                rows = len(self.part(sign.part).states)
            else:
                self.opening(sign.opening or sign.assembly or "")
            if len(sign.table) != rows:
                raise ModelError(f"needs {rows} rows", where=f"sign {sign.name!r}")
            if sign.group is not None and sign.group not in self.group_failure:
                raise ModelError("no failure share for its group", where=f"sign {sign.name!r}")

    def _check_parts(self) -> None:
        listed = [name for assembly in self.assemblies for name in assembly.parts]
        held = [part.name for part in self.parts if part.disturbed is not None]
        if sorted(listed) != sorted(held):
            raise ModelError(
                "assemblies and parts do not name the same parts",
                received=sorted(set(listed) ^ set(held)),
                remedy="List each part that has no levels in exactly one assembly.",
            )
        names = [part.name for part in self.parts]
        if len(set(names)) != len(names):
            raise ModelError("a part is listed twice", received=sorted(names))
        anchor = self.part(self.anchor)
        if self.anchored and any(row[0] != 1 for row in anchor.tables):
            raise ModelError(
                "the anchor part must be in its first state with probability one",
                where=f"part {anchor.name!r}",
                remedy="Completion is defined as completion of the instrument of this part.",
            )
        for batch in self.batches:
            homes = {self.home.get(name) for name in batch.parts}
            if len(homes) != 1:
                raise ModelError("parts of one batch lie in several assemblies", received=batch)
            if len({self.part(name).lag for name in batch.parts}) != 1:
                raise ModelError("parts of one batch have several lags", received=batch.parts)
        lotted = [name for batch in self.batches for name in batch.parts]
        if len(set(lotted)) != len(lotted):
            raise ModelError("a part lies in several lots", received=sorted(lotted))
        for feature in self.features:
            self.part(feature.part)

    def _check_openings(self) -> None:
        names = [one.name for one in self.every_opening]
        if len(set(names)) != len(names):
            raise ModelError("an opening is listed twice", received=sorted(names))
        for one in self.every_opening:
            self._classes(one.p, f"opening {one.name!r}")
            for name in one.parents:
                self.opening(name, f"opening {one.name!r}")
        for part in self.parts:
            for level in self.levels_of(part):
                for name in {name for way in level.path for name in way}:
                    self.opening(name, f"part {part.name!r}")
        for name in self.foreign_opens:
            self.opening(name, "a foreign body")
        for share in (self.careful_default, *self.careful.values()):
            if not 0 <= share <= 1:
                raise ModelError("a share lies from 0 to 1", where="careful", received=share)
        self._check_sets()

    def _check_sets(self) -> None:
        if len({one.name for one in self.sets}) != len(self.sets):
            raise ModelError("a set is listed twice", received=[one.name for one in self.sets])
        for one in self.sets:
            where = f"set {one.name!r}"
            self._classes(one.p, where)
            for name in {name for way in one.needs for name in way}:
                self.opening(name, where)
            for part in one.parts:
                missing = [s for s in one.source if s not in self.part(part).states]
                if missing:
                    raise ModelError(
                        "a source is no state of a member",
                        where=f"{where}, part {part!r}",
                        received=missing[0],
                    )
                first = self.part(one.parts[0])
                for state in one.source:
                    timing, other = (
                        p.timing[p.states.index(state)] for p in (self.part(part), first)
                    )
                    if timing is not other:
                        raise ModelError(
                            "members differ in when a source was made",
                            where=f"{where}, part {part!r}",
                            received=state,
                        )
            for batch in self.batches:
                if 0 < len(set(batch.parts) & set(one.parts)) < len(batch.parts):
                    raise ModelError(
                        "a lot lies partly inside a set",
                        where=where,
                        received=batch.parts,
                        remedy="Name all of its parts in the set, or none.",
                    )

    def _classes(self, row: tuple[float, ...], where: str) -> None:
        if len(row) != len(self.history):
            raise ModelError("needs one probability a history class", where=where)

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

    @cached_property
    def every_opening(self) -> tuple[Opening, ...]:
        """Openings, those that assemblies stand for first."""
        short = (Opening(one.name, one.disturbed) for one in self.assemblies)
        return (*short, *self.openings)

    @cached_property
    def accesses(self) -> tuple[str, ...]:
        """Accesses with a careful hand of their own, each once."""
        return tuple(dict.fromkeys(one.access for one in self.every_opening))

    @cached_property
    def home(self) -> Mapping[str, str]:
        """The assembly of each part that lies in one."""
        return {part: one.name for one in self.assemblies for part in one.parts}

    def opening(self, name: str, where: str = "") -> Opening:
        """Find an opening by name; ModelError when there is none."""
        for one in self.every_opening:
            if one.name == name:
                return one
        raise ModelError(
            "no such opening",
            where=where,
            received=name,
            remedy="Openings: " + ", ".join(one.name for one in self.every_opening) + ".",
        )

    def levels_of(self, part: Part) -> tuple[Level, ...]:
        """The tables of a part that hold once something is open, in their order."""
        if part.disturbed is None:
            return part.levels
        return (Level(((self.home[part.name],),), part.disturbed),)

    def careful_share(self, access: str) -> float:
        """P(a careful hand left no trace at an access); assemblies in short have none."""
        if any(one.name == access for one in self.assemblies):
            return 0.0
        return self.careful.get(access, self.careful_default)

    def month(self, index: int) -> Month:
        """Turn a position on the completion grid into a month."""
        return self.completion.first + index
