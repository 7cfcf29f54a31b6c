"""One look made at the bench, turned into an entry, or into a correction of the answer that stands.

A feature, a sign or the serial number has one standing answer on a part: a second look corrects it,
and both stay in the journal. Marks may be several; each is an entry of its own. An answer that
another device entered after this one showed the question is not written over unseen: that is a
conflict, and a person decides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.errors import ConflictError, InputError

SUBJECT_FIELD: Mapping[str, str] = {"feature": "feature", "sign": "sign"}
CONTENT_FIELD: Mapping[str, str] = {
    "feature": "variant",
    "sign": "outcome",
    "mark": "text",
    "serial": "text",
}


@dataclass(frozen=True, slots=True)
class Look:
    """What a person said of one question.

    Attributes
    ----------
    subject
        Id of the feature or sign; empty for a mark or serial number.
    value
        Variant, outcome or text; only with the status *read*.
    id
        Id of the entry to be made, given by the device.
    made
        ISO 8601 time at which the device took it, or empty.
    """

    part: str
    kind: str
    status: str
    subject: str
    value: str
    id: str
    made: str = ""

    def body(self) -> dict[str, Any]:
        """The body of the observation."""
        if self.kind not in CONTENT_FIELD:
            raise InputError(
                "no such kind of look",
                where="field kind",
                received=self.kind,
                remedy=f"One of {', '.join(CONTENT_FIELD)}.",
            )
        body: dict[str, Any] = {
            "id": self.id,
            "part": self.part,
            "kind": self.kind,
            "status": self.status,
        }
        if self.kind in SUBJECT_FIELD:
            body[SUBJECT_FIELD[self.kind]] = self.subject
        if self.status == "read":
            body[CONTENT_FIELD[self.kind]] = self.value
        return body


def look_entries(state: DossierState, look: Look, *, base: int | None, at: str) -> list[NewEntry]:
    """What to enter; nothing when it was entered already, or the same answer stands.

    Parameters
    ----------
    base
        Number of entries when the question was shown; None enters whatever stands.
    at
        Time of entry, ISO 8601.

    Raises
    ------
    InputError
        The look cannot be read.
    ConflictError
        Another answer was entered since *base*.
    """
    body = look.body() | EntryStamp(look.id, look.made, at).late
    if look.id in state.entered:
        return []  # the same device sent it before and did not hear that it had arrived
    standing = _standing(state, look)
    if standing is None:
        return [NewEntry("observation", body)]
    if _same(standing, look):
        return []
    entered = last_said(state, standing.id)
    if base is not None and entered > base:
        by = state.entered[standing.id].by
        raise ConflictError(
            f"another answer was entered in the meantime: {_answer(standing)}",
            where=f"{look.part}, {look.subject or look.kind}, entry {entered} by {by}",
            received=look.value if look.status == "read" else look.status,
            remedy="Look again together, then enter yours after all or leave it out.",
        )
    replacement = {**body, "id": standing.id}
    if standing.frames:
        replacement["frames"] = list(standing.frames)
    return [
        NewEntry(
            "correction",
            {
                "id": look.id,
                "corrects": standing.id,
                "reason": "looked again",
                "replacement": replacement,
            },
        )
    ]


def _standing(state: DossierState, look: Look) -> Observation | None:
    of_kind = [one for one in state.of_part(look.part) if one.kind == look.kind]
    field = SUBJECT_FIELD.get(look.kind)
    if field is not None:
        of_kind = [one for one in of_kind if getattr(one, field) == look.subject]
    elif look.kind != "serial":
        return None
    return of_kind[-1] if of_kind else None


def _same(standing: Observation, look: Look) -> bool:
    if standing.status != look.status:
        return False
    return look.status != "read" or _answer(standing) == look.value


def _answer(seen: Observation) -> str:
    return (seen.variant or seen.outcome or seen.text or "") if seen.is_read else seen.status


def last_said(state: DossierState, id_: str) -> int:
    """The number of the entry that last spoke of *id_*, a correction or itself."""
    said = [state.entered[id_].seq]
    said += [state.entered[one.id].seq for one in state.corrections.values() if one.corrects == id_]
    return max(said)


def parts_spoken_of(state: DossierState, tree: PartsTree) -> frozenset[str]:
    """Every part on which anything stands, whatever its kind, and the parts it belongs to."""
    found: set[str] = set()
    for body in state.bodies():
        part = getattr(body, "part", None)
        while part is not None and part not in found:
            found.add(part)
            part = tree[part].parent if part in tree else None
    return frozenset(found)
