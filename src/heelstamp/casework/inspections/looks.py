"""From the inspections of a chronology to looks of the dating engine: only what was not made yet.

Anything recorded as read, absent, illegible or not applicable was made; *not looked* was not. A
fact that another observation showed (a serial's prefix, a pot's source code, an absent mark) was
made too. A mark whose presence is itself a feature (``from_mark``) is one look: absent, or present
with its months. Marks and serial numbers are cut into single months where they are expected, as far
as ``MOST_CELLS`` go; coarser cells make the gain a lower bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.casework.dating.translation import MARK_ERROR
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.chronology import Chronology, feature_on, sign_on
from heelstamp.chronology.records import FeatureRow, FromMark, InspectionRow, Reveal
from heelstamp.dating import (
    CompiledModel,
    Evidence,
    FeatureSeen,
    Look,
    SerialNumber,
    cells_around,
    feature_outcomes,
    mark_outcomes,
    screw_outcomes,
    serial_outcomes,
    sign_outcomes,
)
from heelstamp.dating import Observation as Evidenced
from heelstamp.dating.model import Array
from heelstamp.units import Period

MOST_CELLS = 30
"""Fine cells of a mark or serial number (our choice: joint gains stay quick)."""

LIKELY = 0.99
"""Share of completion months, and of lags, about which cells are fine."""

MOST_LAG = 0.95
"""Share of the lag of a part that its fine cells reach back."""


@dataclass(frozen=True)
class Candidate:
    """An inspection with what is left to see of it.

    Attributes
    ----------
    parts
        Parts that it tells of directly.
    looks
        One a thing that was not made yet.
    """

    row: InspectionRow
    parts: tuple[str, ...]
    looks: tuple[Look, ...]


class LooksLeft:
    """What is left to be looked at on one instrument.

    Parameters
    ----------
    evidence
        All evidence so far, as the engine takes it.
    months
        Posterior of the completion month under it.
    """

    def __init__(
        self,
        state: DossierState,
        tree: PartsTree,
        chronology: Chronology,
        *,
        compiled: CompiledModel,
        evidence: Evidence,
        months: Array,
    ) -> None:
        self.tree, self.chronology, self.compiled = tree, chronology, compiled
        self.made = [one for one in state.observations.values() if one.status != "not looked"]
        self.features = {one.feature for one in evidence if isinstance(one, FeatureSeen)}
        self.has_serial = any(isinstance(one, SerialNumber) for one in evidence)
        grid, reached = compiled.model.completion, np.cumsum(months)
        self.likely = Period(
            grid.first + int(np.searchsorted(reached, 1 - LIKELY)),
            grid.first + min(int(np.searchsorted(reached, LIKELY)), len(grid) - 1),
        )

    def candidates(self) -> list[Candidate]:
        """Every inspection of which something is left, level 4 included."""
        found = []
        for row in self.chronology.inspections:
            left = [reveal for reveal in row.reveals if not self.was_made(reveal)]
            if left:
                parts = dict.fromkeys(self.part_of(one) for one in left)
                looks = tuple(self._look(row, one, place) for place, one in enumerate(left))
                found.append(Candidate(row, tuple(parts), looks))
        return found

    def openings_seen(self) -> set[str]:
        """The openings behind which something was seen."""
        return {
            row.opening
            for row in self.chronology.inspections
            if any(self.was_made(reveal) for reveal in row.reveals)
        }

    def part_of(self, reveal: Reveal) -> str:
        """The part that a reveal tells of."""
        if reveal.part is not None:
            return reveal.part
        if reveal.kind == "serial":
            return self.chronology.serial.part if self.chronology.serial else ""
        if reveal.kind == "feature":
            feature = self.chronology.feature(reveal.feature or "")
            assert feature is not None  # checked when the chronology was read
            return feature.parts[0]
        sign = self.chronology.sign(reveal.sign or "")
        assert sign is not None
        if sign.assembly is None:
            return sign.seen_on[0]
        return next(one.parts[0] for one in self.chronology.assemblies if one.name == sign.assembly)

    def was_made(self, reveal: Reveal) -> bool:
        """Tell whether somebody looked already, whatever came of it."""
        if reveal.kind == "feature":
            row = self.chronology.feature(reveal.feature or "")
            return row is not None and self._feature_made(row, reveal)
        family = self._family(self.part_of(reveal))
        if reveal.kind == "serial":
            return self.has_serial or any(one.kind == "serial" for one in self.made)
        if reveal.kind == "mark":
            return any(one.kind == "mark" and one.part == reveal.part for one in self.made) or (
                self._shown_absent(reveal.part or "")
            )
        sign = self.chronology.sign(reveal.sign or "")
        opening = None if sign is None else sign.openings.get(self.part_of(reveal))
        if sign is not None and opening is not None:  # judged at another part is judged too
            family = {part for part, name in sign.openings.items() if name == opening}
        free = reveal.part is None
        return any(
            one.kind == "sign" and one.sign == reveal.sign and (free or one.part in family)
            for one in self.made
        )

    def _feature_made(self, row: FeatureRow, reveal: Reveal) -> bool:
        part = reveal.part or row.parts[0]
        if feature_on(row, part) in self.features:
            return True
        family = self._family(part)
        alone = len(row.parts) == 1 or part == row.set_part
        return any(
            one.kind == "feature"
            and self.chronology.feature(one.feature or "") is row
            and (alone or one.part in family)
            for one in self.made
        ) or any(_shows(one, row, part) for one in self.made)

    def _shown_absent(self, part: str) -> bool:
        """Tell whether a feature entered by hand says that a mark is not there."""
        shown = self._presence(part)
        if shown is None:
            return False
        row, variants = shown
        return any(
            one.kind == "feature"
            and self.chronology.feature(one.feature or "") is row
            and variants.absent in (one.variant, row.when_absent if not one.is_read else None)
            for one in self.made
        )

    def _presence(self, part: str) -> tuple[FeatureRow, FromMark] | None:
        for row in self.chronology.features:
            if row.from_mark is not None and row.from_mark.part == part:
                return row, row.from_mark
        return None

    def _family(self, part: str) -> set[str]:
        """A part and everything that belongs to it."""
        found, waiting = {part}, [part]
        while waiting:
            below = [one.key for one in self.tree.children(waiting.pop())]
            waiting += below
            found.update(below)
        return found

    def _look(self, row: InspectionRow, reveal: Reveal, place: int) -> Look:
        name = f"{row.id}.{place + 1}"
        return Look(name, self._outcomes(reveal), row.readable)

    def _outcomes(self, reveal: Reveal) -> tuple[Evidence, ...]:
        model = self.compiled.model
        if reveal.kind == "feature":
            feature = self.chronology.feature(reveal.feature or "")
            assert feature is not None
            name = feature_on(feature, reveal.part or feature.parts[0])
            return _single(feature_outcomes(model, name))
        if reveal.kind == "sign":
            sign = self.chronology.sign(reveal.sign or "")
            assert sign is not None
            part = self.part_of(reveal)
            if part in sign.count:
                return _single(screw_outcomes(sign.openings[part], sign.count[part]))
            name = sign.id if sign.assembly else sign_on(sign, part)
            return _single(sign_outcomes(model, name))
        if reveal.kind == "serial":
            reach = round(3 * model.serial.scale) if model.serial else 0
            likely = Period(self.likely.first - reach, self.likely.last + reach)
            return _single(
                serial_outcomes(model, cells_around(model.completion, likely, MOST_CELLS))
            )
        return self._mark(reveal.part or "", reveal.error or MARK_ERROR)

    def _mark(self, part: str, error: float) -> tuple[Evidence, ...]:
        model = self.compiled.model
        lag = np.cumsum(self.compiled.lag_of(part))
        reach = int(np.searchsorted(lag, MOST_LAG))
        likely = Period(self.likely.first - reach, self.likely.last)
        marks = _single(
            mark_outcomes(model, part, error, cells_around(model.marks, likely, MOST_CELLS))
        )
        shown = self._presence(part)
        if shown is None:
            return marks
        feature, variants = shown
        name = feature_on(feature, feature.parts[0])
        if name in self.features:
            return marks
        outcomes: list[Evidence] = []
        for (seen,) in _single(feature_outcomes(model, name)):
            assert isinstance(seen, FeatureSeen)
            if seen.variant == variants.read:
                outcomes += [(seen, *mark) for mark in marks]
            else:
                outcomes.append((seen,))
        return tuple(outcomes)


def _single(outcomes: Sequence[Evidenced]) -> tuple[Evidence, ...]:
    return tuple((one,) for one in outcomes)


def _shows(seen: Observation, row: FeatureRow, part: str) -> bool:
    """Tell whether an observation of another kind shows a feature on *part*."""
    if seen.kind == "mark":
        if row.from_mark is not None:
            return seen.part == row.from_mark.part
        return row.from_source_code and seen.part == part and seen.is_read
    return seen.kind == "serial" and row.from_serial is not None and seen.is_read
