"""What is said before anybody of the shop has seen the instrument: ranges of words and pictures.

Every sentence names its strength, *as told*: the shop has seen nothing. Nothing here computes.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import counted, listed, sentence
from heelstamp.wording.strength import percent


@sentence("first call: nothing seen", "opinion", 9)
def nothing_seen() -> str:
    """Write that the shop has seen nothing."""
    return "Nothing of this was seen by the shop; it is what the owner tells and sends."


@sentence("first call: months", "inferred", 8)
def months_told(*, first: str, last: str, middle: str) -> str:
    """Write the range of months that words lead to."""
    return (
        f"As told, completed between {first} and {last} (90 %), middle {middle}: no more than a "
        "range to talk about."
    )


@sentence("first call: months unknown", "inferred", 8)
def months_unknown(*, first: str, last: str) -> str:
    """Write that nothing told bears on the month."""
    return (
        f"Nothing that was told bears on the month. Of all that this maker made, 90 % fall between "
        f"{first} and {last}."
    )


@sentence("first call: outside", "inferred", 8)
def outside_told(*, share: float) -> str:
    """Write the chance that it was not made while the maker made such."""
    return f"The chance that it was completed outside of these years is {percent(share)}."


@sentence("first call: price", "opinion", 13)
def price_told(*, low: str, high: str) -> str:
    """Write the range of the price, unexamined."""
    return (
        f"As told and unexamined, such an instrument sells for {low} to {high} (90 %). This is no "
        "appraisal and no offer."
    )


@sentence("first call: no price", "opinion", 13)
def no_price(*, why: str) -> str:
    """Write why there is no range of a price."""
    return f"No range of a price: {why}."


@sentence("first call: no maker", "opinion", 12)
def no_maker() -> str:
    """Write that no chronology is asked."""
    return (
        "No chronology was chosen for this call, so there is no range of months and none of a "
        "price. Choose one when the name on the headstock is told."
    )


@sentence("first call: frames", "measured", 1)
def frames_told(*, usable: int, asked: int, again: Sequence[str], missing: Sequence[str]) -> str:
    """Write how many of the frames can be used, and which are wanted."""
    text = f"{usable} of {asked} frames can be used."
    if again:
        text += f" To take again: {listed(list(again))}."
    if missing:
        text += f" Not sent yet: {listed(list(missing))}."
    return text


@sentence("first call: strength", "opinion", 12)
def strength_told(*, serial: float, feature: float) -> str:
    """Write at which strength answers count."""
    return (
        f"A number counts as told rightly {percent(serial)} of the time, what was seen "
        f"{percent(feature)}: judgement, no source."
    )


@sentence("first call: at odds", "inferred", 10)
def at_odds(*, label: str, text: str) -> str:
    """Write that an answer does not fit the others."""
    return f"“{label}: {quoted(text)}” does not fit what else was told: ask for a picture of it."


@sentence("first call: not counted", "opinion", 12)
def not_counted(*, label: str, text: str, why: str) -> str:
    """Write that an answer bears on no month."""
    return f"“{label}: {quoted(text)}” is not counted: {why}."


@sentence("first call: age", "inferred", 12)
def age_told(*, text: str, within: bool | None) -> str:
    """Write how what the owner was told of the age lies to the range; it is never counted."""
    if within is None:
        return f"Of its age was told: “{quoted(text)}”. It names no year, and is not counted."
    lies = "overlaps the range" if within else "lies outside of the range"
    return f"Of its age was told: “{quoted(text)}”. That {lies}; it is not counted."


@sentence("first call: narrows", "inferred", 12)
def narrows(*, name: str, months_now: float, months_then: float, money: str) -> str:
    """Write what one look would do to the ranges."""
    text = f"{name.capitalize()}: {months_now:.0f} months become about {months_then:.0f}"
    return f"{text}; {money} of the price's spread fall away." if money else f"{text}."


@sentence("first call: same picture", "measured", 1)
def same_picture(*, name: str) -> str:
    """Write that one file came for two frames."""
    return f"{quoted(name)} was sent for more than one frame: one picture shows one of them."


@sentence("first call: unnamed", "opinion", 1)
def unnamed_told(*, count: int) -> str:
    """Write that pictures came of which nobody said what they show."""
    return (
        f"{counted(count, 'picture')} came without a word of which frame it is: say so, nothing is "
        "recognised here."
    )
