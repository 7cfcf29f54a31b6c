"""What is said of another path of asking prices: half of its promise, and who does worse (rule 13).

What may happen to one piece and how well an average is known are never told in one range.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import sentence


@sentence("price path", "inferred", 13)
def prices(*, prices: Sequence[tuple[int, str]]) -> str:
    first, *later = prices
    if not later:
        return f"Another path of asking prices: {first[1]}, held without a cut."
    told = [first[1], *(f"from week {weeks + 1} on {price}" for weeks, price in later)]
    return f"Another path of asking prices: {', '.join(told)}."


@sentence("price path gain", "inferred", 13)
def gain(*, half: str, promised: str) -> str:
    return (
        f"On average it may leave the consignor about {half} more than the path agreed. That is "
        f"half of the {promised} that is worked out: on simulated shops all of such a promise came "
        "true where the shop and the value were as believed, and a third where the value had been "
        "read 12 % too high."
    )


@sentence("price path worse", "inferred", 13)
def worse(*, worse: float, same: float) -> str:
    equal = f", and {_of_ten(same)} the same" if same >= 0.05 else ""
    return f"A single piece may lose by it: {_of_ten(worse)} of ten net less{equal}."


@sentence("price path piece", "inferred", 13)
def piece(*, agreed: tuple[str, str], other: tuple[str, str]) -> str:
    return (
        f"What may happen to this piece: eight of ten such pieces net {agreed[0]} to {agreed[1]} "
        f"by the path agreed, and {other[0]} to {other[1]} by this one; one that stays unsold "
        "counts with its worth."
    )


@sentence("price path known", "inferred", 13)
def known(*, low: str, high: str) -> str:
    return (
        f"How well the average is known: the worked-out gain lies between {low} and {high} in "
        "eight of ten of the shops that this one may be."
    )


@sentence("price path none", "inferred", 13)
def none_better(*, share: float) -> str:
    return (
        "No other path of prices above the floor can be expected to leave the consignor more by "
        f"{100 * share:.0f} % of the value."
    )


@sentence("price path unsold", "inferred", 13)
def unsold(*, worth: str, waiting: float) -> str:
    return (
        f"The piece unsold counts as {worth} to the consignor, by the terms, and a month of "
        f"waiting costs {100 * waiting:.3g} %. The path hangs on both."
    )


@sentence("price path rests on", "inferred", 13)
def rests_on(*, count: int, left_out: int) -> str:
    if not count:
        return "It rests on common practice alone: no offer of this shop is in it."
    more = "" if not left_out else f"; {left_out} more could not be learned from"
    many = "1 offer" if count == 1 else f"{count} offers"
    return f"It rests on {many} of this shop beside common practice{more}."


@sentence("price path choice", "inferred", 13)
def choice() -> str:
    return (
        "It is a choice of the consignor's. What is agreed holds until another path is agreed and "
        "signed."
    )


def _of_ten(share: float) -> str:
    words = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "all")
    count = round(10 * share)
    return "fewer than one" if share > 0 and count == 0 else words[count]
