"""A listing: its headings, the few lines that are its own, and what its own words contradict.

Everything else in a listing is a sentence of the buyer's report, word for word. A description is a
promise (rule 12), so a text that the shop writes itself is held against the report before it
leaves; what that search finds is phrased here.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import counted, listed, sentence

FLAWS, FACTS, MEASURED, DONE, UNSEEN, TOLD, INTEREST = (
    "Flaws first",
    "What it is",
    "Measured",
    "What we did to it",
    "Not seen, and why",
    "What we were told",
    "Our interest",
)
"""Headings of a listing, in the order of reading."""
OPENED, CLEANED, MENDED, FITTED, ADJUSTED, CLOSED, OTHER_ACTS = (
    "Opened",
    "Cleaned",
    "Mended",
    "Fitted",
    "Adjusted",
    "Closed again",
    "Also done",
)
"""Sorts of acts, in the order in which such work goes."""


@sentence("listing price", "opinion", 13)
def price(*, amount: str, state: str) -> str:
    """The price asked; *state* is that of the sale."""
    if state == "sold":
        return "Sold."
    if state == "agreed":
        return "A price is agreed with a buyer; it is not offered now."
    held = "Held for somebody now. " if state == "held" else ""
    return f"{held}Asked: {amount}." if amount else f"{held}Price on request."


@sentence("listing price changed", "seen", 15)
def price_changed(*, before: str, now: str) -> str:
    return f"the price was {before}, it is {now}"


@sentence("listing number", "seen", 14)
def number(*, masked: str) -> str:
    """The serial number as a listing shows it."""
    return f"Number {masked}, its last characters withheld here; a buyer in earnest is told them."


@sentence("listing no flaw", "seen", 9)
def no_flaw() -> str:
    return "No flaw is in the record, as far as examined; see what was not seen."


@sentence("listing more", "seen", 9)
def more(*, flaws: int, others: int) -> str:
    """What a shorter text leaves out, so that nobody takes it for the whole."""
    told = [
        f"{counted(flaws, 'more flaw')} {'is' if flaws == 1 else 'are'} told in the full text"
        if flaws
        else "",
        f"{counted(others, 'more sentence')}" + ("" if flaws else " in the full text")
        if others
        else "",
    ]
    return f"Not all is told here: {', with '.join(one for one in told if one)}."


@sentence("listing rests on report", "seen", 2)
def rests_on_report(*, day: str) -> str:
    return (
        f"Every sentence stands in our examination report of {day}, with its photographs and what "
        "it rests on; ask for it."
    )


@sentence("listing no picture", "seen", 9)
def no_picture(*, flaw: str) -> str:
    return f"No photograph shows it: {flaw}"


# --- what the shop's own words contradict -------------------------------------------------------


@sentence("own words figure", "seen", 12)
def figure_unknown(*, figure: str, known: Sequence[str]) -> str:
    near = f" It has {listed(list(known), 'and')}." if known else ""
    return f"The report has no such figure: {figure}.{near}"


@sentence("own words months", "inferred", 12)
def months_outside(*, said: str, told: str) -> str:
    range_ = f"the report says {told}" if told else "the report gives no date"
    return f"{said}: {range_}."


@sentence("own words state", "inferred", 12)
def state_otherwise(*, part: str, said: str, told: str) -> str:
    return f"{part}, {said}: the report says {told}."


@sentence("own words strength", "inferred", 12)
def strength_wanting(*, part: str, told: str) -> str:
    return f"{part}: say it as the report does, with its strength: {told}."


@sentence("own words more than seen", "seen", 12)
def more_than_seen(*, said: str) -> str:
    return f"{said}: the report does not say that. Tell what was looked at, and what was found."


@sentence("own words banned", "seen", 12)
def banned(*, said: str, instead: str) -> str:
    return f"{said}: no paper may carry that. Write {instead}."


@sentence("own words number", "seen", 14)
def number_in_full() -> str:
    return "The serial number in full: a listing shows it masked."


@sentence("own words flaw left out", "seen", 9)
def flaw_left_out(*, flaw: str) -> str:
    return f"Not told: {flaw}"


# --- the showing page ---------------------------------------------------------------------------


@sentence("showing order of acts", "seen", 14)
def order_of_acts() -> str:
    return "Grouped by what was done; this copy tells of no day."


@sentence("showing wipe", "seen", 6)
def wipe() -> str:
    """What the two pictures of a face are, and what they cannot say."""
    return (
        "The same face in ordinary light and under UV-A, laid over each other. A glow tells "
        "whether a finish is continuous, not whose it is."
    )


@sentence("showing sounds", "measured", 1)
def sounds() -> str:
    return "Recorded at the bench, not made louder, softer or clearer."


@sentence("showing range", "inferred", 8)
def range_read() -> str:
    """How the picture of the date is read."""
    return (
        "Above, how probable each month of completion is; below, the months that each mark itself "
        "names, which bound the instrument from below."
    )


@sentence("showing nothing heard", "seen", 9)
def nothing_heard() -> str:
    return "No recording goes with this page."


@sentence("showing signed", "seen", 15)
def showing_signed(*, version: int, day: str, key: str) -> str:
    return (
        f"Version {version} of {day}, signed with the key {key}. Compare these digits with those "
        "that the shop gives by another way. Whether a later version supersedes it, the shop knows."
    )


@sentence("showing preview", "seen", 15)
def showing_preview() -> str:
    return "A preview: not issued and not signed."
