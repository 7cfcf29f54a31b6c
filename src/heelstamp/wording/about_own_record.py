"""The shop's own record: how often what it had said turned out so.

Counts with their interval, and no praise: of what a shop had called *very probably original* some
is not, and saying how much is what the word means.
"""

from __future__ import annotations

from heelstamp.wording.sentences import counted, sentence
from heelstamp.wording.strength import percent


@sentence("own record of parts", "measured", 4)
def record_of_parts(*, cases: int, instruments: int, brier: float, brier_of_share: float) -> str:
    """How many parts became known later, and the score of what had been said of them."""
    return (
        f"Of {counted(cases, 'part')} on {counted(instruments, 'instrument')} it became known "
        "later, from elsewhere, whether they were fitted first. Mean squared difference between "
        f"the probability given and the outcome (0 best, 1 worst): {brier:.3f}; saying the "
        f"observed share of every part would have scored {brier_of_share:.3f}."
    )


@sentence("own record of dates", "measured", 8)
def record_of_dates(*, cases: int, half: int, nine_tenths: int) -> str:
    """How many dates became known later, and how many lay in the ranges given."""
    return (
        f"Of {counted(cases, 'date')} that became known later {half} lay in the 50 % range that "
        f"had been given and {nine_tenths} in the 90 % range."
    )


@sentence("own record small", "measured", 4)
def record_small(*, cases: int, least: int) -> str:
    """That there are too few cases to print."""
    return (
        f"{counted(cases, 'case')} so far; papers tell of it from {least} on, since fewer say "
        "little."
    )


@sentence("own record limits", "measured", 4)
def record_limits() -> str:
    return (
        "What becomes known later is not a fair sample of what a shop has seen, and parts of one "
        "instrument are not independent of each other. The intervals (90 %) allow for the number "
        "of cases alone."
    )


def share_words(happened: int, cases: int, low: float, high: float) -> str:
    """Write a share with its interval: '18 of 20 (75 % to 96 %)'."""
    return f"{happened} of {cases} ({percent(low)} to {percent(high)})"
