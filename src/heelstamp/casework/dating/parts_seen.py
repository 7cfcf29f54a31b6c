"""What was seen of each part itself, what only of the ways to it, and which acts would show more.

A feature that can be seen while the way to a part is shut tells of its type and time, not of
whether it is the one first fitted; marks, signs and features behind the way are looks of the part's
own, and so is a look at its joints. A way is shut while the shop has not done an opening of it that
is a step of access (the neck was never taken off). Screw heads are looks at ways alone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from heelstamp.casework.dating.finding import PartSeen
from heelstamp.casework.dating.translated import Translated
from heelstamp.chronology import Chronology
from heelstamp.chronology.records import OpeningRow, PartRow
from heelstamp.dating import FeatureSeen, Mark, StateLikelihood

_TELLING = frozenset({"read", "absent"})


def parts_seen(
    found: Sequence[Translated], chronology: Chronology, done: Collection[str] = ()
) -> dict[str, PartSeen]:
    """What was seen of each part of the chronology.

    Parameters
    ----------
    done
        Openings that the shop did itself.
    """
    reader = _Reader(found, chronology, done)
    return {row.key: reader.of(row) for row in chronology.parts}


class _Reader:
    def __init__(
        self, found: Sequence[Translated], chronology: Chronology, done: Collection[str]
    ) -> None:
        self.chronology, self.done = chronology, frozenset(done)
        self.openings = {row.name: row for row in chronology.openings}
        self.features = {name: row for row in chronology.features for name in (row.id, *row.also)}
        self.told: dict[str, list[Translated]] = {}
        self.ways: dict[str, list[str]] = {}
        for one in found:
            opening = self._opening(one)
            if opening is not None and one.evidence:
                self.ways.setdefault(opening, []).append(one.seen.id)
            if opening is not None and not self._joint(one, opening):
                continue
            if one.seen.status in _TELLING and one.seen.kind != "document":
                for part in self._parts(one):
                    self.told.setdefault(part, []).append(one)

    def of(self, row: PartRow) -> PartSeen:
        paths = [way for level in row.levels for way in level.path]
        shut = [self._shut(way) for way in paths]
        gated = bool(paths) and all(shut)
        steps = {step.step for way in shut for step in way} if gated else set()
        looks = self.told.get(row.key, [])
        own = any(not gated or self._behind(one, steps) for one in looks)
        seen = [[id_ for name in way for id_ in self.ways.get(name, ())] for way in paths]
        return PartSeen(
            looks="own" if own else "type" if looks else "none",
            ways=list(dict.fromkeys(id_ for way in seen for id_ in way)) if all(seen) else [],
            acts=list(dict.fromkeys(act for way in shut for one in way for act in one.acts[:1]))
            if gated
            else [],
        )

    def _shut(self, way: Sequence[str]) -> list[OpeningRow]:
        rows = (self.openings[name] for name in way)
        return [row for row in rows if row.step is not None and row.name not in self.done]

    def _behind(self, one: Translated, steps: Collection[str | None]) -> bool:
        """Whether a look is of the part itself and not of its type alone."""
        if one.seen.kind != "feature":
            return True
        row = self.features.get(one.seen.feature or "")
        return row is not None and row.seen_from in steps

    def _joint(self, one: Translated, opening: str) -> bool:
        """Whether it was seen at the part itself: not on a step of access, and no screws."""
        row = self.chronology.sign(one.seen.sign or "")
        return row is not None and not row.count and self.openings[opening].step is None

    def _opening(self, one: Translated) -> str | None:
        row = self.chronology.sign(one.seen.sign or "") if one.seen.kind == "sign" else None
        return None if row is None else row.openings.get(one.seen.part)

    def _parts(self, one: Translated) -> Iterator[str]:
        """The part a look was made on, and those that its evidence went to."""
        yield one.seen.part
        for item in one.evidence:
            if isinstance(item, FeatureSeen):
                name, _, part = item.feature.partition("@")
                part = part or self.features[name].parts[0]
                if part != one.seen.part and one.of_set is None:
                    yield part
            elif isinstance(item, Mark | StateLikelihood) and item.part != one.seen.part:
                yield item.part
