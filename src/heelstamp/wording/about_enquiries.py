"""What is said of enquiries and viewings (rule 9: what was not looked at is told as such)."""

from __future__ import annotations

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import sentence


@sentence("enquiry not examined", "seen", 9)
def not_examined() -> str:
    return "This was not examined. It is noted as something to look at."


@sentence("viewing without photographs", "seen", 9)
def no_frames_after(*, party: str, day: str) -> str:
    return (
        f"No photograph was taken after {quoted(party)} had it in hand on {day}: what changed then "
        "cannot be told."
    )


@sentence("viewing compared", "seen", 9)
def compare_frames(*, before: int, after: int) -> str:
    return (
        f"{before} photographed before and {after} after. Hold them beside each other under "
        "Condition before it goes back to its place."
    )
