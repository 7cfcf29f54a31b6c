"""What is said before anybody of the shop has seen the instrument: ranges of words and pictures.

Every sentence names its strength, *as told*: the shop has seen nothing. Nothing here computes.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import counted, listed
from heelstamp.wording.strength import percent

NOTHING_SEEN = "Nothing of this was seen by the shop; it is what the owner tells and sends."


def months_told(first: str, last: str, middle: str) -> str:
    """Write the range of months that words lead to."""
    return (
        f"As told, completed between {first} and {last} (90 %), middle {middle}: no more than a "
        "range to talk about."
    )


def months_unknown(first: str, last: str) -> str:
    """Write that nothing told bears on the month."""
    return (
        f"Nothing that was told bears on the month. Of all that this maker made, 90 % fall between "
        f"{first} and {last}."
    )


def outside_told(share: float) -> str:
    """Write the chance that it was not made while the maker made such."""
    return f"The chance that it was completed outside of these years is {percent(share)}."


def price_told(low: str, high: str) -> str:
    """Write the range of the price, unexamined."""
    return (
        f"As told and unexamined, such an instrument sells for {low} to {high} (90 %). This is no "
        "appraisal and no offer."
    )


def no_price(why: str) -> str:
    """Write why there is no range of a price."""
    return f"No range of a price: {why}."


def no_maker() -> str:
    """Write that no chronology is asked."""
    return (
        "No chronology was chosen for this call, so there is no range of months and none of a "
        "price. Choose one when the name on the headstock is told."
    )


def frames_told(usable: int, asked: int, again: Sequence[str], missing: Sequence[str]) -> str:
    """Write how many of the frames can be used, and which are wanted."""
    text = f"{usable} of {asked} frames can be used."
    if again:
        text += f" To take again: {listed(list(again))}."
    if missing:
        text += f" Not sent yet: {listed(list(missing))}."
    return text


def strength_told(serial: float, feature: float) -> str:
    """Write at which strength answers count."""
    return (
        f"A number counts as told rightly {percent(serial)} of the time, what was seen "
        f"{percent(feature)}: judgement, no source."
    )


def at_odds(label: str, text: str) -> str:
    """Write that an answer does not fit the others."""
    return f"“{label}: {text}” does not fit what else was told: ask for a picture of it."


def not_counted(label: str, text: str, why: str) -> str:
    """Write that an answer bears on no month."""
    return f"“{label}: {text}” is not counted: {why}."


def age_told(text: str, *, within: bool | None) -> str:
    """Write how what the owner was told of the age lies to the range; it is never counted."""
    if within is None:
        return f"Of its age was told: “{text}”. It names no year, and is not counted."
    lies = "overlaps the range" if within else "lies outside of the range"
    return f"Of its age was told: “{text}”. That {lies}; it is not counted."


def narrows(name: str, months_now: float, months_then: float, money: str) -> str:
    """Write what one look would do to the ranges."""
    text = f"{name.capitalize()}: {months_now:.0f} months become about {months_then:.0f}"
    return f"{text}; {money} of the price's spread fall away." if money else f"{text}."


def same_picture(name: str) -> str:
    """Write that one file came for two frames."""
    return f"{name} was sent for more than one frame: one picture shows one of them."


def unnamed_told(count: int) -> str:
    """Write that pictures came of which nobody said what they show."""
    return (
        f"{counted(count, 'picture')} came without a word of which frame it is: say so, nothing is "
        "recognised here."
    )
