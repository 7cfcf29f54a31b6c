"""Faces under UV-A: which were covered, and what two looks at one face tell differently.

Nothing is said to be new or gone: a place that only one look tells of is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import counted, listed, sentence

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


@sentence("faces covered", "seen", 6)
def covered(
    *, looked: Sequence[str], not_looked: Sequence[str], cm2: float | None, unevenly_cm2: float
) -> str:
    """Which faces were covered under UV-A, and which were not."""
    told = "No face was assessed under UV-A."
    if looked:
        area = "" if cm2 is None else f", {cm2:.0f} cm²"
        if area and unevenly_cm2 >= 0.5:
            area += f", of which {unevenly_cm2:.0f} cm² were lit too unevenly to be tested"
        told = f"Assessed under UV-A: {listed(list(looked))}{area}."
    if not_looked:
        told += f" Not looked at: {listed(list(not_looked))}; nothing is said of these."
    return told


@sentence("place asked about", "seen", 6)
def asked_of_place(*, number: int, place: str, other: str, later: bool) -> str:
    """A question about a place that one of two looks tells of and the other does not."""
    own, others = ("this look", "the earlier look") if later else ("the earlier look", "this look")
    return (
        f"Region {number} of {own}, {place}; {others}: {other}. What was done since? Light, dust, "
        "another lamp or another drawing of the parts could make it too: look at the place again "
        "with the lamp on either side."
    )


@sentence("faces other lamps", "seen", 6)
def other_lamps(*, earlier: int, later: int) -> str:
    """That the lamp stood at another number of places in each look."""
    return (
        f"The lamp stood at {counted(earlier, 'place')} then and at {counted(later, 'place')} now: "
        "soft differences are told only from two places on."
    )
