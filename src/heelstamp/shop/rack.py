"""The rack of an opened shop: rows kept beside the heads they belong to, found by any word.

A search first brings older rows up to date, a bounded number at a time; how many are still to be
read is said, so that nobody takes *not found* for *not there*.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import msgspec

from heelstamp.casework.appraisal.clearance import numbers_of
from heelstamp.casework.ports import KeptRow
from heelstamp.casework.rack import RACK_FORM, RackRow, rack_row, unreadable, words_of
from heelstamp.errors import HeelstampError
from heelstamp.shop.opened import OpenShop

READ_AT_ONCE = 200
"""Dossiers whose rows are made anew before one search is answered."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the rack.

    Attributes
    ----------
    found
        Dossiers that hold every word.
    unread
        Dossiers that were written since and not read for this search.
    """

    found: int
    rows: tuple[RackRow, ...]
    unread: int


def rack_sheet(shop: OpenShop, find: str, skip: int, count: int) -> Sheet:
    """List the newest dossiers first, or those that hold every word of *find*."""
    words = find.split()
    unread = _bring_up_to_date(shop) if words else 0
    found, kept = shop.rack.sheet(words, skip, count)
    fresh = [tag for tag, (head, row) in kept.items() if row is None or not _of(row, head.digest)]
    made, _ = _made(shop, fresh)
    rows: list[RackRow] = []
    for tag, (_, row) in kept.items():
        if tag in made:
            rows.append(made[tag])
        elif row is not None:
            rows.append(msgspec.json.decode(row.text, type=RackRow))
    return Sheet(found, tuple(rows), unread)


def numbers_near(shop: OpenShop, numbers: Iterable[str], but: str) -> list[tuple[str, str]]:
    """Tag and serial number of every other dossier that may be near one of *numbers*.

    Dossiers that were written since are read first, however many they are.

    Raises
    ------
    HeelstampError
        One cannot be read: its number is not known to be another.
    """
    _, tags = shop.rack.stale()
    for begin in range(0, len(tags), READ_AT_ONCE):
        _, refused = _made(shop, tags[begin : begin + READ_AT_ONCE])
        for tag, error in refused.items():
            if tag != but:
                raise error
    found = {one for number in numbers for one in shop.rack.numbers_near(number)}
    return sorted(one for one in found if one[0] != but)


def _bring_up_to_date(shop: OpenShop) -> int:
    count, tags = shop.rack.stale(READ_AT_ONCE)
    _made(shop, tags)
    return count - len(tags)


def _of(row: KeptRow, head: str) -> bool:
    return row.head == head and f'"form":"{RACK_FORM}"' in row.text[:60]


def _made(
    shop: OpenShop, tags: Iterable[str]
) -> tuple[dict[str, RackRow], dict[str, HeelstampError]]:
    """Make rows anew, and keep them; what cannot be read has a row that says so, and its error."""
    rows, keep, refused = {}, {}, {}
    for tag in tags:
        try:
            state, tree = shop.standing(tag)
        except HeelstampError as error:  # one spoilt dossier hides no other
            rows[tag], refused[tag] = unreadable(tag, str(error)), error
            continue
        rows[tag] = rack_row(state, tree)
        text = msgspec.json.encode(rows[tag]).decode()
        keep[tag] = KeptRow(state.head, text, words_of(state, tree), numbers_of(state))
    shop.rack.keep(keep)
    return rows, refused
