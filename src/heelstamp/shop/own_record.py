"""What became known later of what the shop had said, entered and counted over all its dossiers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from heelstamp.casework.own_record import OwnRecord, Stated, own_record
from heelstamp.catalogue import Issue
from heelstamp.shop.subjects import date_subject

if TYPE_CHECKING:
    from heelstamp.casework.new_entry import NewEntry
    from heelstamp.casework.ports import Shop
    from heelstamp.shop.opened import OpenShop
    from heelstamp.units import Period

MENTION = b"later_known"


def record_of(shop: Shop) -> OwnRecord:
    """Count the shop's own record; only dossiers whose journal names the kind are folded."""
    from heelstamp.casework.dossier import state_of

    tags = [
        tag
        for tag in shop.journals.tags()
        if any(MENTION in line for line in shop.journals.lines(tag))
    ]
    return own_record(state_of(shop, tag) for tag in tags)


def said_before(shop: OpenShop, tag: str) -> Stated:
    """What the shop had said of a dossier: as it stood at the last paper issued, else as it stands.

    What became known may have been entered as seen since; the paper tells what was said without.
    """
    from heelstamp.casework.dossier import entries_of, fold_entries

    subject = shop.subject(tag)
    papers = [subject.state.entered[id_].seq for id_ in subject.state.of(Issue)]
    if not papers:
        return Stated(shop.finding(tag).data())
    state = fold_entries(shop, entries_of(shop, tag)[: max(papers) - 1]).state
    return Stated(date_subject(replace(subject, state=state)).data())


def later_known(
    shop: OpenShop,
    tag: str,
    about: str,
    *,
    source: str,
    original: bool | None,
    months: Period | None,
    id_: str = "",
) -> NewEntry:
    """The entry that keeps what became known of *about*, with what had been said of it.

    Its id is *id_*, or the next free one.

    Raises
    ------
    InputError
        As `heelstamp.casework.own_record.Stated.entry`.
    """
    from heelstamp.casework.dossier import next_id

    id_ = id_ or next_id(shop.subject(tag).state, "later-")
    return said_before(shop, tag).entry(id_, about, source=source, original=original, months=months)
