"""A serial number with a character that could be another: "1 or 4", entered once, by tap.

The number stays one entry. Its readings are every combination of what the doubtful characters may
be, each with P(what was seen | that number) up to a common factor; the dating takes them together.
Which characters are taken for each other is that of `heelstamp.marks.misread`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.dating.same_fact import numbers_read
from heelstamp.casework.dating.translation import number_evidence
from heelstamp.casework.looking import last_said
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.catalogue import DossierState, Observation, body_data
from heelstamp.chronology import SerialCurve
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.marks.misread import ALIKE

MOST_READINGS = 16
"""Readings beyond which a number is too doubtful to be told by its readings."""

LIKELY: Mapping[str, float] = {"as likely": 1.0, "less likely": 1 / 3, "barely": 1 / 9}
"""How likely what was seen is with the other character, against the one that was read (ours)."""


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A character of a number, at its place from 0, and what it may be taken for."""

    place: int
    read: str
    others: tuple[str, ...]


def doubtful(seen: Observation, curve: SerialCurve) -> tuple[Doubtful, ...]:
    """The characters of a number as it was read first that could be others, where they fit."""
    text = (seen.text or numbers_read(seen)[0][0]).upper()
    found = []
    for place, character in enumerate(text):
        others = tuple(
            other
            for other in _alike(character)
            if _fits(text[:place] + other + text[place + 1 :], curve)
        )
        if others:
            found.append(Doubtful(place, character, others))
    return tuple(found)


def doubt_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    number: str,
    place: int,
    other: str,
    likely: str,
    base: int | None,
) -> list[NewEntry]:
    """The correction by which a character may be another as well.

    Parameters
    ----------
    number
        Id of the serial number's entry.
    place, other
        Which character, from 0, and what else it may be; empty takes every doubt back.
    likely
        A key of `LIKELY`.

    Raises
    ------
    InputError
        There is no such number or character, or too much of it is doubtful.
    ConflictError
        It was read anew since *base*.
    """
    if stamp.id in state.entered:
        return []
    seen = state.observations.get(number)
    if seen is None or seen.kind != "serial" or not seen.is_read:
        raise InputError("no serial number to doubt", received=number, remedy="Enter it first.")
    if base is not None and last_said(state, number) > base:
        raise ConflictError(
            "this number was read anew in the meantime",
            where=number,
            remedy="Look again together, then enter yours after all or leave it out.",
        )
    text = seen.text or numbers_read(seen)[0][0]
    replacement: dict[str, Any] = {**body_data(seen), "text": text}
    replacement.pop("readings", None)
    if other:
        replacement["readings"] = _with_other(seen, text, place, other, likely)
    return [
        NewEntry(
            "correction",
            {
                "id": stamp.id,
                "corrects": number,
                "reason": "a character that could be another" if other else "no doubt is left",
                "replacement": replacement,
                **stamp.late,
            },
        )
    ]


def _with_other(
    seen: Observation, text: str, place: int, other: str, likely: str
) -> list[dict[str, Any]]:
    if not 0 <= place < len(text) or len(other) != 1 or likely not in LIKELY:
        raise InputError(
            "no such character of the number",
            where=f"place {place + 1}",
            received=other,
            remedy=f"Tap one of “{text}”; {', '.join(LIKELY)}.",
        )
    weights: dict[str, float] = {}
    for read, weight in numbers_read(seen):
        if len(read) <= place:
            raise InputError(
                "readings of unlike length", received=read, remedy="Enter the number again."
            )
        weights[read] = max(weight, weights.get(read, 0.0))
        changed = read[:place] + other + read[place + 1 :]
        if read[place] == text[place]:
            weights[changed] = weight * LIKELY[likely]
    if len(weights) > MOST_READINGS:
        raise InputError(
            "too much of this number is doubtful",
            received=f"{len(weights)} readings",
            remedy="Write ? for each character that cannot be read.",
        )
    most = max(weights.values())
    return [{"text": one, "weight": weight / most} for one, weight in weights.items()]


def _alike(character: str) -> tuple[str, ...]:
    pairs = [pair.replace(character, "", 1) for pair in ALIKE if character in pair]
    return tuple(sorted(dict.fromkeys(pairs), key=lambda one: (not one.isdigit(), one)))


def _fits(text: str, curve: SerialCurve) -> bool:
    try:
        number_evidence(curve, [(text, 1.0)])
    except HeelstampError:
        return False
    return True
