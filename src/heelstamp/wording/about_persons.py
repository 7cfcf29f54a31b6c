"""What is said of names that are kept, and of those that are erased (rule 13).

How long is a matter of local law; each sentence says what the number of days rests on.
"""

from __future__ import annotations

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import sentence


@sentence("person kept enquirer", "seen", 13)
def kept_enquirer(*, day: str, days: int, why: str) -> str:
    return f"Kept {_why(why)}: {days} days after {day}, the last time something was said."


@sentence("person kept buyer", "seen", 13)
def kept_buyer(*, day: str, days: int, why: str) -> str:
    return (
        f"Kept {_why(why)}: {days} days after {day}, the last step of their purchase. "
        "How long the law of the place asks for, or allows, may be another number."
    )


@sentence("person kept owner", "seen", 13)
def kept_owner(*, day: str, days: int, why: str) -> str:
    return (
        f"Kept {_why(why)}: {days} days after {day}, the last step of the sale. "
        "How long the law of the place asks for, or allows, may be another number."
    )


@sentence("person erased", "seen", 13)
def erased(*, role: str, day: str) -> str:
    return (
        f"{role}: name and address were erased on {day}. What was said and paid stays under the "
        "role, because it is the shop's account of its own acts."
    )


@sentence("person backups", "seen", 13)
def in_backups() -> str:
    return (
        "Backups made before still hold what was erased, until they are replaced: keep them closed "
        "and let them run out."
    )


def _why(why: str) -> str:
    return quoted(why.strip().rstrip("."))
