"""What is usual: ranges that the trade works to, handed in from a table of common practice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.mechanics import WireMaterial


@dataclass(frozen=True, slots=True)
class Usual:
    """The usual range of one measure, as practice has it.

    Attributes
    ----------
    low, high
        Ends of the range, in *unit*.
    how
        How the measure is taken.
    source
        Where the range comes from; common practice has none.
    """

    low: float
    high: float
    unit: str
    how: str
    source: str


@dataclass(frozen=True, slots=True)
class Bench:
    """What the bench knows of any instrument: materials by key, usual ranges by measure."""

    materials: Mapping[str, WireMaterial]
    usual: Mapping[str, Usual]


STANDARD_TUNINGS: Mapping[tuple[str, int], tuple[str, ...]] = {
    ("guitar", 6): ("E4", "B3", "G3", "D3", "A2", "E2"),
    ("guitar", 7): ("E4", "B3", "G3", "D3", "A2", "E2", "B1"),
    ("bass", 4): ("G2", "D2", "A1", "E1"),
    ("bass", 5): ("G2", "D2", "A1", "E1", "B0"),
    ("bass", 6): ("C3", "G2", "D2", "A1", "E1", "B0"),
}
"""Usual tunings, the highest string first, by kind and number of strings; common practice."""


def tuning_for(kind: str, count: int) -> tuple[str, ...]:
    """The usual tuning.

    Raises
    ------
    InputError
        None is known for this kind and number of strings.
    """
    notes = STANDARD_TUNINGS.get((kind, count))
    if notes is None:
        raise InputError(
            "no usual tuning is known",
            received=f"{kind} with {count} strings",
            remedy="Give the notes with --tuning, the highest string first.",
        )
    return notes
