"""What the JSON API holds an account to: its own signature, its own decisions, its own blindness.

On pages each screen makes entries of its own kind, and the table of permits tells who may use it.
Through the API an entry of any kind can come, so decisions, which also carry prices and issued
papers, are taken there from owners alone. A mark that another account read, and that no second
reader has read yet, is told without what was read to whoever could still be that second reader. On
a bench that only its own machine can reach nothing of this applies.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from fastapi import Request

from heelstamp.casework.mark_reading import hidden_marks
from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.sharing import Role
from heelstamp.catalogue import DossierState, body_id, kind_of
from heelstamp.errors import ConflictError, InputError
from heelstamp.web.rendering import shop_of, who_of

WITHHELD = "shown when your own reading stands"
DECIDED = frozenset(
    {
        "decision",
        "string_set",
        "pair_marks",
        "region",
        "border",
        "grade",
        "colour",
        "case_included",
        "changed_parts",
        "price",
        "terms",
        "title_search",
        "title_note",
        "near_number",
        "material",
        "materials_looked",
        "wording",
        "paper",
        "question",
        "return_verdict",
    }
)
"""Kinds of entry by which something is decided, priced, issued or answered."""
_KEPT = ("id", "part", "kind", "frames", "lot")


def check_signed(request: Request, tag: str, by: str, entries: Sequence[NewEntry]) -> None:
    """Refuse entries that are signed by another role, or decide what an owner decides.

    Raises
    ------
    InputError
        *by* is not who is signed in.
    ConflictError
        A decision, or a change of one, by who is no owner.
    """
    who = who_of(request)
    if who is None:
        return
    if by != who.account:
        raise InputError(
            "entries are signed by who is signed in",
            where="by",
            received=by,
            remedy=f"Send {who.account}.",
        )
    if who.role is Role.OWNER:
        return
    state = shop_of(request).subject(tag).state
    decided = {body_id(one) for one in state.bodies() if kind_of(one) in DECIDED}
    for kind, body in entries:
        if kind in DECIDED or (kind == "correction" and body.get("corrects") in decided):
            raise ConflictError(
                "decisions are taken here from owners alone",
                where=f"{kind} {body.get('id')}",
                received=f"{who.account}, {who.role.value}",
                remedy="Use its page.",
            )


def blind_to(request: Request, state: DossierState) -> frozenset[str]:
    """The marks of which who is signed in may not know the reading yet."""
    who = who_of(request)
    if who is None or not who.role.may(Role.SECOND_HAND):
        return frozenset()
    return hidden_marks(state, who.account)


def blind_state(told: dict[str, Any], hidden: Collection[str]) -> dict[str, Any]:
    """An examination file's values without the readings of some marks."""
    seen = told.get("observation")
    if not hidden or not seen:
        return told
    return {**told, "observation": [_bare(one) if one["id"] in hidden else one for one in seen]}


def blind_entry(entry: dict[str, Any], hidden: Collection[str]) -> dict[str, Any]:
    """An entry without what it says of a mark; its digest stays that of the whole.

    Its seed is left out too: with it the reading could be found by trying.
    """
    body = entry["body"]
    unsalted = {name: value for name, value in entry.items() if name != "seed"}
    if body.get("id") in hidden:
        return {**unsalted, "body": _bare(body)}
    if entry["kind"] == "correction" and body.get("corrects") in hidden:
        return {
            **unsalted,
            "body": {"id": body["id"], "corrects": body["corrects"], "withheld": WITHHELD},
        }
    return entry


def _bare(body: Mapping[str, Any]) -> dict[str, Any]:
    return {**{key: body[key] for key in _KEPT if key in body}, "withheld": WITHHELD}
