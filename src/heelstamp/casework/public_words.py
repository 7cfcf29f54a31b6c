"""Words that a person typed, and whether they may go to buyers and insurers.

They stay with the shop unless their entry is marked ``public``: when it is entered, or by a
correction of it later; a second correction keeps them again. What of an entry goes then is told by
`heelstamp.casework.papers.public_record`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.papers.public_record import typed_words
from heelstamp.catalogue import DossierState, body_data, kind_of
from heelstamp.catalogue.entries import body_id
from heelstamp.errors import NotFoundError


@dataclass(frozen=True, slots=True)
class Worded:
    """An entry that stands with words a person typed, which no outsider is told.

    Attributes
    ----------
    words
        By field.
    """

    entry: str
    kind: str
    words: Mapping[str, str]


def marked(entries: Iterable[NewEntry], public: bool) -> list[NewEntry]:
    """The same entries, their words marked for outsiders where *public*."""
    if not public:
        return list(entries)
    return [NewEntry(one.kind, {**one.body, "public": True}) for one in entries]


def staying(state: DossierState) -> tuple[Worded, ...]:
    """The entries with words that stay with the shop, of kinds that outsiders are told of."""
    return tuple(
        Worded(body_id(one), kind_of(one), words)
        for one in state.bodies()
        if not one.public and (words := typed_words(one))
    )


def public_entries(
    state: DossierState, stamp: EntryStamp, entry: str, public: bool
) -> list[NewEntry]:
    """The correction that lets the words of an entry go, or keeps them; nothing when it stands so.

    Raises
    ------
    NotFoundError
        No such entry stands, or it holds no words.
    """
    found = [one for one in state.bodies() if body_id(one) == entry]
    if not found or not typed_words(found[0]):
        raise NotFoundError(
            "no entry with words of a person", received=entry, remedy="See the list on Reports."
        )
    if found[0].public == public or stamp.id in state.entered:
        return []
    replacement = {**body_data(found[0]), "public": public}
    if not public:
        del replacement["public"]
    body = {
        "id": stamp.id,
        "corrects": entry,
        "reason": "its words may go to outsiders" if public else "its words stay with the shop",
        "replacement": replacement,
        **stamp.late,
    }
    return [NewEntry("correction", body)]
