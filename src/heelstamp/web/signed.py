"""What the JSON API holds an account to: its own signature, and what its role may see.

What an account may enter is decided where entries are sealed. A mark that another account read, and
that no second reader has read yet, is told without what was read to whoever could still be that
second reader; entries that hold sums are told to examiners and owners alone
(`heelstamp.casework.sharing.rights`). On a bench that only its own machine can reach nothing of
this applies.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request

from heelstamp.archive import read_json
from heelstamp.casework.mark_reading import hidden_marks
from heelstamp.casework.sharing import Role
from heelstamp.casework.sharing.rights import hidden_from
from heelstamp.catalogue import DossierState
from heelstamp.errors import InputError
from heelstamp.shop.opened import OpenShop
from heelstamp.web.rendering import hand_of, who_of

UNREAD = "shown when your own reading stands"
NOT_YOURS = "shown to examiners and owners"
_KEPT = ("id", "part", "kind", "frames", "lot")
_CHAIN = ("digest", "previous", "seed")


def signed_by(request: Request, by: str) -> str:
    """The hand that signs what came through the API.

    Raises
    ------
    InputError
        *by* is not who is signed in.
    """
    who = who_of(request)
    if who is None:
        return by
    if by != who.account:
        raise InputError(
            "entries are signed by who is signed in",
            where="by",
            received=by,
            remedy=f"Send {who.account}.",
        )
    return hand_of(request)


@dataclass(frozen=True, slots=True)
class Withheld:
    """Ids of what somebody may not know.

    Attributes
    ----------
    unread
        Marks whose reading may not be known yet.
    sums
        Entries that are not for the role, and corrections of them.
    """

    unread: frozenset[str] = frozenset()
    sums: frozenset[str] = frozenset()

    def state(self, told: dict[str, Any]) -> dict[str, Any]:
        """An examination file's values without what is withheld."""
        return {
            key: [self._body(one) for one in value if one.get("id") not in self.sums]
            if isinstance(value, list)
            else value
            for key, value in told.items()
        }

    def entries(self, entries: Iterable[dict[str, Any]]) -> Iterator[dict[str, Any]]:
        """A journal's entries without what is withheld; the digests stay those of the whole.

        A seed is left out with what it salts: with it a sum or a reading could be found by trying.
        An entry of form 1 has no salt, so from one that is withheld on the chain is left out too.
        """
        open_to_trying = False
        for entry in entries:
            told = self._entry(entry)
            open_to_trying |= told is not entry and "form" not in entry
            if open_to_trying:
                told = {name: value for name, value in told.items() if name not in _CHAIN}
            yield told

    def _entry(self, entry: dict[str, Any]) -> dict[str, Any]:
        body = entry["body"]
        unsalted = {name: value for name, value in entry.items() if name != "seed"}
        if body.get("id") in self.sums:
            return {**unsalted, "body": {"id": body["id"], "withheld": NOT_YOURS}}
        if body.get("id") in self.unread:
            return {**unsalted, "body": self._body(body)}
        if entry["kind"] == "correction" and body.get("corrects") in self.unread:
            told = {"id": body["id"], "corrects": body["corrects"], "withheld": UNREAD}
            return {**unsalted, "body": told}
        return entry

    def _body(self, body: Mapping[str, Any]) -> Mapping[str, Any]:
        if body.get("id") not in self.unread:
            return body
        return {**{key: body[key] for key in _KEPT if key in body}, "withheld": UNREAD}


def told_entries(request: Request, shop: OpenShop, tag: str) -> list[dict[str, Any]]:
    """The entries of a dossier as who is signed in may know them."""
    withheld = withheld_from(request, shop.subject(tag).state)
    lines = (dict(read_json(line)) for line in shop.journals.lines(tag))
    return list(withheld.entries(lines))


def told_head(request: Request, shop: OpenShop, tag: str) -> str | None:
    """Digest of the last entry; None where who is signed in could compute a hidden sum from it."""
    digest = told_entries(request, shop, tag)[-1].get("digest")
    return None if digest is None else str(digest)


def withheld_from(request: Request, state: DossierState) -> Withheld:
    """Find what who is signed in may not know of a dossier."""
    who = who_of(request)
    if who is None:
        return Withheld()
    sums = hidden_from(who.role, state)
    if not who.role.may(Role.PAIRED_DEVICE):
        return Withheld(sums=sums)
    return Withheld(hidden_marks(state, who.account), sums)
