"""Evidence of one instrument as a line of JSON, short and quick to read back.

``e`` lists the items: ``["m", part, [[first, last, weight], …], error]`` marks, ``["f", feature,
variant]``, ``["n", [[number as read, weight], …]]`` serial numbers, which are turned into months by
the curve of the edition at hand, ``["s", sign, outcome]``, ``["l", part, {state: likelihood}]``,
``["t", opening, count, turned]`` screws, ``["w", set, error]`` odd parts of a set, ``["d", first,
last, reliability]`` papers. ``x`` lists the parts that were examined, each by its set where it is
spoken of with its set only; ``o`` those of them that were seen while the way to them was shut;
``c`` says that covered areas of the coating were. Months
are whole numbers as everywhere in the program.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from heelstamp.casework.dating.parts_seen import parts_seen
from heelstamp.casework.dating.procedure import of_sets
from heelstamp.casework.dating.same_fact import numbers_read
from heelstamp.casework.dating.translated import Translated
from heelstamp.casework.dating.translation import number_evidence
from heelstamp.chronology import Chronology, SerialCurve
from heelstamp.dating import (
    Document,
    Evidence,
    FeatureSeen,
    Mark,
    MixedSet,
    Observation,
    Reading,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)
from heelstamp.units import Period

_TELLING = frozenset({"read", "absent"})


class Line(msgspec.Struct, frozen=True):
    """What a line holds."""

    e: list[msgspec.Raw]
    x: list[str]
    c: bool = False
    o: list[str] = []


MOST_KNOWN = 200_000
"""Different items remembered; many instruments share them."""

_DECODER = msgspec.json.Decoder(Line)


class EvidenceReader:
    """Reads lines of evidence under one edition of a chronology."""

    def __init__(self, chronology: Chronology) -> None:
        self._curve = SerialCurve.of(chronology)
        self._known: dict[bytes, Observation] = {}

    def read(self, text: str | bytes) -> tuple[Evidence, Line]:
        """Return the evidence of a line, and the line."""
        line = _DECODER.decode(text)
        known = self._known
        if len(known) > MOST_KNOWN:
            known.clear()
        found = []
        for raw in line.e:
            key = bytes(raw)
            item = known.get(key)
            if item is None:
                item = known[key] = self._item(msgspec.json.decode(key))
            found.append(item)
        return tuple(found), line

    def _item(self, item: list[Any]) -> Observation:  # noqa: PLR0911 - one a kind
        match item[0]:
            case "f":
                return FeatureSeen(item[1], item[2])
            case "s":
                return SignSeen(item[1], item[2])
            case "m":
                readings = tuple(Reading(Period(a, b), weight) for a, b, weight in item[2])
                return Mark(item[1], readings, item[3], together=item[4] if len(item) > 4 else 0.0)
            case "n":
                assert self._curve is not None
                return number_evidence(self._curve, [(text, share) for text, share in item[1]])
            case "l":
                return StateLikelihood(item[1], item[2])
            case "t":
                return ScrewsSeen(item[1], item[2], item[3])
            case "w":
                return MixedSet(item[1], item[2])
            case _:
                return Document(Period(item[1], item[2]), item[3])


def evidence_text(found: Sequence[Translated], chronology: Chronology) -> str:
    """Write the evidence of an instrument, and which parts were examined."""
    covering = {row.id for row in chronology.signs if row.covered_area}
    sets = of_sets(list(found))
    seen = parts_seen(found, chronology)
    examined = {
        sets.get(part, part)
        for part in {one.seen.part for one in found if one.seen.status in _TELLING}
        if part not in seen or seen[part].looks != "none"
    }
    outside = {part for part in examined if part in seen and seen[part].looks == "type"}
    line = Line(
        [
            msgspec.Raw(msgspec.json.encode(_plain(item, one)))
            for one in found
            for item in one.evidence
        ],
        sorted(examined),
        any(one.seen.is_read and one.seen.sign in covering for one in found),
        sorted(outside),
    )
    return msgspec.json.encode(line).decode()


def numbers_of(line: Line) -> list[tuple[str, float]]:
    """Return the serial number of a line as it was read, with weights; empty without one."""
    for raw in line.e:
        item = msgspec.json.decode(raw)
        if item[0] == "n":
            return [(str(text), float(weight)) for text, weight in item[1]]
    return []


def _plain(item: Observation, source: Translated) -> list[Any]:  # noqa: PLR0911 - one a kind
    match item:
        case Mark():
            readings = [[one.period.first, one.period.last, one.weight] for one in item.readings]
            return ["m", item.part, readings, item.error, item.together]
        case FeatureSeen():
            return ["f", item.feature, item.variant]
        case SerialNumber():
            return ["n", [list(one) for one in numbers_read(source.seen)]]
        case SignSeen():
            return ["s", item.sign, item.outcome]
        case StateLikelihood():
            return ["l", item.part, dict(item.likelihoods)]
        case ScrewsSeen():
            return ["t", item.opening, item.count, item.turned]
        case MixedSet():
            return ["w", item.set, item.error]
        case Document():
            return ["d", item.period.first, item.period.last, item.reliability]
        case _:
            raise TypeError(f"evidence of another kind: {type(item).__name__}")
