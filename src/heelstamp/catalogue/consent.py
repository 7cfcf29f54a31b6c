"""What the owner allows: the last word on each act counts.

An act nobody asked about is *not asked*, which is neither leave nor refusal. The acts that need
the owner's word are named by the parts tree's openings; this module compares words exactly.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from heelstamp.catalogue.bodies.intake import Consent
from heelstamp.errors import ConflictError

Standing = Literal["granted", "refused", "not asked"]


@dataclass(frozen=True, slots=True)
class Leave:
    """Where the owner stands on one act, and the entry that says so."""

    act: str
    standing: Standing
    condition: str = ""
    entry: str = ""


def leave_for(act: str, consents: Iterable[Consent]) -> Leave:
    """The owner's last word on *act*; *consents* in the order they were given."""
    last: Consent | None = None
    for consent in consents:
        if consent.act == act:
            last = consent
    if last is None:
        return Leave(act, "not asked")
    return Leave(act, "granted" if last.granted else "refused", last.condition, last.id)


def require_leave(act: str, consents: Iterable[Consent], *, where: str = "") -> Leave:
    """The owner's leave for *act*.

    Raises
    ------
    ConflictError
        The owner refused, or was not asked.
    """
    leave = leave_for(act, consents)
    if leave.standing != "granted":
        raise ConflictError(
            f'the owner\'s leave for "{act}": {leave.standing}',
            where=where,
            received=act,
            remedy="Ask the owner and record the answer as a consent entry first.",
        )
    return leave
