"""Faces under UV-A: which were covered, and what two looks at one face tell differently.

Nothing is said to be new or gone: a place that only one look tells of is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import counted, listed

NOT_TAKEN = "not photographed"
NOTHING_TOLD_THERE = "assessed there, nothing told"
LEFT_OPEN_THERE = "left open there"
NOT_ASSESSED_THERE = "not assessed there"
MASKS_UNLIKE = (
    "Outline and parts of one look were proposed by the program: what is a part there may be "
    "finish here."
)
LAMPS_UNLIKE = (
    "The lamp is not told alike for both looks (wavelength, filter, distance): a difference of "
    "the lamp can look like one of the finish."
)


def covered_words(
    looked: Sequence[str], not_looked: Sequence[str], cm2: float | None, unevenly_cm2: float
) -> str:
    """Say which faces were covered under UV-A, and which were not.

    Examples
    --------
    >>> covered_words(["front"], ["back"], 310.4, 0.0)
    'Assessed under UV-A: front, 310 cm². Not looked at: back; nothing is said of these.'
    >>> covered_words([], ["front"], None, 0.0)
    'No face was assessed under UV-A. Not looked at: front; nothing is said of these.'
    """
    told = "No face was assessed under UV-A."
    if looked:
        area = "" if cm2 is None else f", {cm2:.0f} cm²"
        if area and unevenly_cm2 >= 0.5:
            area += f", of which {unevenly_cm2:.0f} cm² were lit too unevenly to be tested"
        told = f"Assessed under UV-A: {listed(list(looked))}{area}."
    if not_looked:
        told += f" Not looked at: {listed(list(not_looked))}; nothing is said of these."
    return told


def asked_of_place(number: int, place: str, other: str, *, later: bool) -> str:
    """Ask about a place that one of two looks tells of and the other does not.

    Examples
    --------
    >>> asked_of_place(2, "upper left", NOTHING_TOLD_THERE, later=True).partition(" What")[0]
    'Region 2 of this look, upper left; the earlier look: assessed there, nothing told.'
    """
    own, others = ("this look", "the earlier look") if later else ("the earlier look", "this look")
    return (
        f"Region {number} of {own}, {place}; {others}: {other}. What was done since? Light, dust, "
        "another lamp or another drawing of the parts could make it too: look at the place again "
        "with the lamp on either side."
    )


def other_lamps(earlier: int, later: int) -> str:
    """Say that the lamp stood at another number of places in each look."""
    return (
        f"The lamp stood at {counted(earlier, 'place')} then and at {counted(later, 'place')} now: "
        "soft differences are told only from two places on."
    )
