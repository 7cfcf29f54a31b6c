"""What is exchanged with other shops, who does not fit, and what can be guessed from it.

Nothing here says that a shop errs: that its tables do not fit the others is told as it is, with
what that could be. What can be guessed from tables is told wherever they are made.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.wording.sentences import counted, listed, sentence


@sentence("tables given", "measured", 1)
def tables_given(*, number: int, chronology: str, features: int, blurred: int) -> str:
    """What was made to be handed out; *blurred* of the tables rest on fewer than 50."""
    told = (
        f" In {blurred} of them dates were blurred first, as they rest on fewer than 50 "
        "instruments or differ by fewer from what was handed out before."
        if blurred
        else ""
    )
    return f"Tables {number} of {chronology}: {counted(features, 'change-over')}.{told}"


@sentence("tables withheld", "measured", 2)
def tables_withheld(*, groups: Mapping[str, int]) -> str:
    """Features without a table, each with the instruments that are too few."""
    told = listed([f"{name} ({count})" for name, count in groups.items()])
    return f"Withheld, too few instruments, or too few more than were told before: {told}."


@sentence("months can be guessed", "measured", 2)
def months_can_be_guessed() -> str:
    return (
        "They hold no instrument, number or name. Months of single instruments can be guessed from "
        "them, more often than by chance, and who knows one instrument can find it: hand them to "
        "shops you trust with that."
    )


@sentence("tables taken", "measured", 1)
def tables_taken(*, shop: str, number: int, chronology: str, features: int, gathered: str) -> str:
    return (
        f"Tables {number} of {chronology} taken from {shop}: {counted(features, 'change-over')}, "
        f"from {gathered}."
    )


@sentence("tables joined", "measured", 2)
def tables_joined(*, others: int, own: bool, shifted: bool) -> str:
    """Whether this shop's census taught, how many others, and how their tables were joined.

    A sum of several shops counts as one.
    """
    how = (
        "More than one shop in twenty does not fit the others, so that each was given a shift of "
        "its own dates; ranges are wider for it."
        if shifted
        else "Each shop may follow another curve with a chance of one in twenty."
    )
    census = "this shop's census and " if own else ""
    return f"Learned from {census}the tables of {counted(others, 'other')}. {how}"


@sentence("shops asked about", "measured", 4)
def shops_asked(*, shops: Sequence[str]) -> str:
    return (
        f"Their tables do not fit what all others say: {listed(list(shops))}. That may be dates "
        "that are off, variants mistaken, other instruments, or many that err alike elsewhere: "
        "ask, and join once without them to see what changes. Nothing is left out by itself."
    )


@sentence("selection told", "measured", 2)
def one_variant_collected(*, shops: Sequence[str]) -> str:
    return (
        f"Collected one variant rather than the other, which moves change-overs: "
        f"{listed(list(shops))}. Think of joining without them."
    )


@sentence("masked tables can be found", "measured", 2)
def masked_can_be_found() -> str:
    return (
        "Under masks this shop's part alone tells nothing; all the others together could find it, "
        "and the sum is a table like any other."
    )
