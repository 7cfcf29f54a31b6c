"""Parts that were not examined, or seen only while the way to them was shut.

What was seen elsewhere bears on such a part through the model, and that figure is told; a word of
strength it never earns. Ways to the part that were looked at are named, and so is a refused leave.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import Told, agreement, listed, sentence
from heelstamp.wording.strength import percent, probability_word

NOT_EXAMINED = "not examined"


@sentence("part not examined", "inferred", 2)
def part_not_examined(
    *,
    part: str,
    posterior: float | None = None,
    prior: float = 0.0,
    ways: Sequence[str] = (),
    refused: Sequence[str] = (),
) -> Told:
    """A part of which nothing was seen.

    Parameters
    ----------
    posterior, prior
        P(fitted first) after and before what was seen elsewhere; None where nothing is computed.
    ways
        What was seen of the ways to it, in words.
    refused
        Acts that would show more and that the owner refused.
    """
    words = agreement(part)
    begin = f"The {part} {words.was} not examined"
    more = _ways(ways) + _refused(refused)
    if posterior is None:
        return Told(f"{begin}; nothing is said of {words.its} state.{more}", NOT_EXAMINED)
    figure = (
        f"{begin}. What was seen elsewhere leaves {percent(posterior)} for {words.its} first "
        "fitting "
        f"(before the evidence {percent(prior)}).{more}"
    )
    return Told(
        figure,
        NOT_EXAMINED,
        plain=f"{begin}; what was seen elsewhere is no finding on the {part}.{more}",
    )


@sentence("part seen from outside", "inferred", 5)
def part_seen_from_outside(
    *,
    part: str,
    posterior: float,
    prior: float,
    first: float,
    ways: Sequence[str] = (),
    acts: Sequence[str] = (),
    refused: Sequence[str] = (),
) -> Told:
    """A part whose type and time were seen, and no more, because the way to it stayed shut.

    Parameters
    ----------
    posterior, prior
        P(fitted first or of the period) after and before the evidence.
    first
        P(fitted first) after it.
    acts, refused
        Acts that would show more; those of them that the owner refused.
    """
    word, words = probability_word(posterior), agreement(part)
    figures = f" ({percent(posterior)}; before the evidence {percent(prior)})"
    stands = f"; what was seen leaves {percent(first)} for that"
    left = [act for act in acts if act not in refused]
    why = f" (not done: {listed(left)})" if left and not refused else ""

    def write(told: str, rest: str) -> str:
        return (
            f"The {part} {words.is_} {word} period-correct, right in type and time, as far as seen "
            f"from outside{told}. Whether {words.it} {words.was} fitted first was not "
            f"examined{why}{rest}.{_ways(ways)}{_refused(refused)}"
        )

    return Told(write(figures, stands), word, plain=write("", ""))


@sentence("leave refused", "seen", 14)
def leave_refused(*, acts: Sequence[str]) -> str:
    """What the owner refused, so that nobody takes it for overlooked."""
    return f"Leave was refused, and it was not done: {'; '.join(acts)}."


def _ways(ways: Sequence[str]) -> str:
    return f" Seen of the way to it: {'; '.join(ways)}." if ways else ""


def _refused(acts: Sequence[str]) -> str:
    return f" Leave was refused: {'; '.join(acts)}." if acts else ""
