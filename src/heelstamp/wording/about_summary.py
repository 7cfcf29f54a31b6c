"""The first page of a report: one line each on what a buyer asks first.

Each sentence gathers what the sections behind it say, in their own words and no stronger: a state
of a part is named by the word of its row, a joint by what was seen of it (rule 7), a grade by its
letter and the reason that was entered. What was not looked at and what the owner did not allow are
said as such (rule 9).
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import listed, sentence
from heelstamp.wording.strength import percent


@sentence("parts by state", "inferred", 2)
def parts_by_state(*, groups: Sequence[tuple[str, Sequence[str]]]) -> str:
    """Parts gathered under the word of their rows, as ``very probably original``."""
    told = [f"{word}: {listed(list(parts))}" for word, parts in groups]
    return "; ".join(told) + "."


@sentence("joints gathered", "seen", 7)
def joints_gathered(
    *, undisturbed: Sequence[str], heated: Sequence[str], unclear: Sequence[str]
) -> str:
    told = []
    if undisturbed:
        told.append(f"no sign of a second heating at {listed(list(undisturbed))}")
    if heated:
        told.append(
            f"signs of a second heating at {listed(list(heated))}, which by itself does not show "
            "a replacement"
        )
    if unclear:
        told.append(f"cannot be told at {listed(list(unclear))}")
    return f"Solder joints: {'; '.join(told)}."


@sentence("nothing found changed", "inferred", 2)
def nothing_found_changed(*, open_parts: Sequence[str]) -> str:
    """No part is said to be changed; those that are not settled or not determined are named."""
    left = f" Open, neither first nor changed: {listed(list(open_parts))}." if open_parts else ""
    return f"No part is said to be changed, as far as examined.{left}"


@sentence("with its reason", "opinion", 9)
def with_reason(*, said: str, reason: str) -> str:
    """A grade with the reason that was entered beside it."""
    return f"{said} {reason.rstrip('.')}."


@sentence("no grade", "opinion", 9)
def no_grade() -> str:
    return "No grade of condition was given."


@sentence("plays", "measured", 1)
def plays(*, readings: Sequence[str], worked: bool) -> str:
    """Readings of the setup, each with its value; *worked* when they were taken after the work."""
    when = "After the work" if worked else "As found"
    return f"{when}: {listed(list(readings))}."


@sentence("noise before and after", "measured", 1)
def noise(*, part: str, found: str, final: str) -> str:
    """Crackle of a control as found and after the work; *final* empty where none was counted."""
    after = f", {final} after the work" if final else ""
    return f"The {part} crackled {found} times a turn as found{after}."


@sentence("setup not read", "seen", 9)
def setup_not_read() -> str:
    return "Relief, action and intonation were not read."


@sentence("parts not looked at", "seen", 9)
def parts_not_looked_at(*, parts: Sequence[str], touched: Sequence[str], opened: str) -> str:
    """Parts without any look, those that were measured or worked on only, how far it was opened."""
    told = [f"It was opened as far as: {opened}."]
    if touched:
        begin = "Measured or worked on, and not judged whether fitted first"
        told.append(f"{begin}: {listed(list(touched))}.")
    told.append(
        f"Not looked at: {listed(list(parts))}." if parts else "No part was left without a look."
    )
    return " ".join(told)


@sentence("our interest", "opinion", 14)
def our_interest(*, what: str) -> str:
    """What the shop gains by the sale (rule 14), under a heading that says so."""
    return f"{what.rstrip('.')}."


@sentence("mark names", "seen", 1)
def mark_names(*, months: str) -> str:
    """The months that the one reading of a mark names; a lower bound for the instrument."""
    return f"Read so, the mark names {months}; the part is no older, the instrument later."


@sentence("acts not allowed", "seen", 9)
def acts_not_allowed(*, acts: Sequence[str]) -> str:
    """Acts that the owner refused, which is why what they would show was not seen."""
    return f"Not done, for the owner did not allow it: {listed(list(acts))}."


@sentence("only read", "seen", 9)
def looked_for_in_vain(*, illegible: Sequence[str]) -> str:
    return f"Looked at and illegible: {listed(list(illegible))}."


@sentence("claim held against the date", "inferred", 10)
def claim(*, claimed: str, share: str, months: str) -> str:
    """A claim that names a year, and what the finding leaves to that year."""
    return (
        f"Claimed: “{claimed}”. By the evidence of this paper the months of {months} hold {share} "
        "of the probability."
    )


@sentence("claim without a year", "seen", 10)
def claim_only(*, claimed: str) -> str:
    return f"Claimed: “{claimed}”. It names no year that can be held against the finding."


@sentence("accounts considered", "inferred", 10)
def accounts_considered(*, parts: int) -> str:
    return (
        f"Considered for each of {parts} parts: fitted first, replaced in its period, replaced "
        "later, or taken from another instrument; and for the whole, that its parts have no single "
        "date."
    )


@sentence("put together considered", "inferred", 10)
def put_together_considered(*, before: float, after: float) -> str:
    """That the whole was put together from several: its probability before and after the looks."""
    return (
        "Considered as well: that the whole was put together from several instruments. Its "
        f"probability is {percent(after)}; before anything was seen it was {percent(before)}."
    )


@sentence("examiner's record", "seen", 14)
def examiner(*, role: str, record: str) -> str:
    """Who examined, by role, with the shop's record of their competence or its want."""
    told = record.rstrip(".") if record else "the shop holds no record of competence"
    return f"Examined by {role}: {told}."


@sentence("register searched", "seen", 9)
def register_searched(*, register: str, day: str, hit: bool) -> str:
    """One search for the number; a search without a hit says nothing beyond its day."""
    when = f" on {day}" if day else ""
    if hit:
        return f"{register}, searched{when}: an entry was found, which must be settled first."
    return f"{register}, searched{when}: no entry was found on that day. It says nothing beyond it."


@sentence("no register searched", "seen", 9)
def no_register_searched() -> str:
    return "No search of a register for the number is told in this paper."
