"""When two entries are one fact: a mark entered twice, a serial number that stands in two places.

Entered twice, a fact would weigh twice. What differs is never merged: it is another fact, and said.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.casework.dating.mark_reading import ReadMark
from heelstamp.catalogue import Observation
from heelstamp.marks.misread import bare_number
from heelstamp.marks.smudge import UNREADABLE, agrees


def same_mark(seen: Observation, mark: ReadMark, other: Observation, before: ReadMark) -> bool:
    """Whether two marks on one part are one: one text, or one text but for separators read alike.

    Marks entered as readings alone are one when their readings are.
    """
    if seen.part != other.part:
        return False
    alike = [(one.period, one.weight) for one in mark.readings] == [
        (one.period, one.weight) for one in before.readings
    ]
    if not mark.text or not before.text:
        return alike and mark.text == before.text
    if _plain(mark.text) == _plain(before.text):
        return True
    return alike and _characters(mark.text) == _characters(before.text)


def numbers_read(seen: Observation) -> tuple[tuple[str, float], ...]:
    """The texts a serial number was read as, with their weights."""
    if seen.readings:
        return tuple((one.text or "", one.weight) for one in seen.readings)
    return ((seen.text or "", 1.0),)


def same_number(seen: Observation, other: Observation) -> bool:
    """Whether two readings of a serial number can be of one number; ``?`` agrees with anything."""
    return any(
        _agree(bare_number(here), bare_number(there))
        for here, _ in numbers_read(seen)
        for there, _ in numbers_read(other)
    )


def fuller(seen: Observation, other: Observation) -> bool:
    """Whether the first leaves less open than the second: fewer readings, fewer ``?``."""
    return _open(numbers_read(seen)) < _open(numbers_read(other))


def _open(read: Sequence[tuple[str, float]]) -> tuple[int, int]:
    return len(read), sum(text.count(UNREADABLE) for text, _ in read)


def _agree(one: str, other: str) -> bool:
    return len(one) == len(other) and all(
        agrees(a, b) or agrees(b, a) for a, b in zip(one, other, strict=True)
    )


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _characters(text: str) -> str:
    return "".join(one for one in text.casefold() if one.isalnum() or one == UNREADABLE)
