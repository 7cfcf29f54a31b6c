"""Versions of a paper: what changed against the last, and that one was superseded; its signature.

Rule 15: a correction is a new version that names the one it replaces; the old one stays readable.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import listed, sentence


@sentence("first issue", "seen", 15)
def first_issue() -> str:
    return "first issue"


@sentence("range moved", "inferred", 15)
def range_moved(*, before: str, now: str) -> str:
    if not before or not now:
        return f"the date is now {now or 'withheld'}, it was {before or 'withheld'}"
    return f"the 90 % range of completion was {before}, it is {now}"


@sentence("entries changed", "seen", 15)
def entries_changed(*, kind: str, more: int, fewer: int) -> str:
    """Entries of a kind that are new or read otherwise, and that are gone or read otherwise."""
    told = [f"{more} new" if more else "", f"{fewer} no longer so" if fewer else ""]
    return f"{kind}: {', '.join(one for one in told if one)}"


@sentence("parts moved", "inferred", 15)
def parts_moved(*, parts: Sequence[str]) -> str:
    return f"the probabilities of these parts moved: {listed(list(parts))}"


@sentence("same record", "seen", 15)
def same_record() -> str:
    return "the record is the same, the page is set anew"


@sentence("computed anew", "seen", 15)
def computed_anew() -> str:
    return "computed anew from the same entries"


@sentence("superseded", "seen", 15)
def superseded(*, version: int, later: int, day: str) -> str:
    """An earlier version that is still as it was issued."""
    return f"This is version {version} as it was issued; version {later} of {day} supersedes it."


@sentence("newest version", "seen", 15)
def newest(*, version: int) -> str:
    return f"This is version {version}, the newest."


SIGNED_WITH, WHOSE_KEY, CHECK_SIGNATURE = (
    "Signed with the key (SHA-256)",
    "Whose key that is",
    "Check the signature",
)
"""Lines of how to check a paper."""


@sentence("key known elsewhere", "seen", 15)
def key_known_elsewhere() -> str:
    return (
        "A paper cannot vouch for the key that signs it. Compare these digits with those that the "
        "shop gives by another way: on its counter, its receipt, its letter."
    )


@sentence("signed form", "seen", 15)
def signed_form(*, key: str) -> str:
    return (
        f"The file of this paper is signed with the key {key}; a print of it is not. Check the "
        "file: heelstamp verify FILE --key KEY."
    )
