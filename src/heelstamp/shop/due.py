"""What is due in a shop on a day: every dossier's calendar, and the backup."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from heelstamp.casework.due import Due, backup_due, due_of
from heelstamp.errors import HeelstampError
from heelstamp.shop.backup import REMIND_AFTER_DAYS, last_backup
from heelstamp.shop.terms import terms_for
from heelstamp.wording import about_due as about

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.shop.opened import OpenShop

AHEAD_DAYS = 30
"""How far ahead a page looks."""


def due_in(shop: OpenShop, today: str, *, ahead: int | None = None) -> list[Due]:
    """List what is due in the whole shop, the earliest first.

    Parameters
    ----------
    ahead
        Days to look ahead; None for all that is known.
    """
    last = last_backup(shop.folder)
    day = date.fromisoformat(today)
    found = [backup_due("" if last is None else last.at[:10], day, every=REMIND_AFTER_DAYS)]
    found += [*_names(shop, day), *_premises(shop, day)]
    for tag in shop.journals.tags():
        found += due_at(shop, tag, today)
    found.sort(key=lambda one: (one.day, one.tag, one.kind))
    return [one for one in found if ahead is None or -one.late <= ahead]


def due_at(shop: OpenShop, tag: str, today: str) -> list[Due]:
    """List what is due of one dossier; remembered while it stands as it is.

    A dossier that cannot be read hides no other: its own page says what is wrong.
    """
    try:
        terms = _terms(shop, tag)
        key = repr(("due", today, None if terms is None else terms.document))
        return list(shop.remembered(key, tag, lambda: _made(shop, tag, terms, today)))
    except HeelstampError:
        return []


def _made(shop: OpenShop, tag: str, terms: Terms | None, today: str) -> list[Due]:
    state, tree = shop.standing(tag)
    return due_of(state, tree, terms, date.fromisoformat(today))


def _names(shop: OpenShop, today: date) -> list[Due]:
    """Names whose time is over, as one thing to do, due since the first of them."""
    from heelstamp.shop.persons import persons_kept

    over = [
        one.erase_on
        for one in persons_kept(shop)
        if not one.person.erased and one.erase_on is not None and one.erase_on <= today
    ]
    if not over:
        return []
    first = min(over)
    return [
        Due(
            id="names",
            tag="",
            kind="names",
            day=first.isoformat(),
            late=(today - first).days,
            told=about.names.say(count=len(over)),
            screen="persons",
        )
    ]


def _premises(shop: OpenShop, today: date) -> list[Due]:
    """What tonight's sums at the shop's places ask for; nothing where no cover is declared."""
    from heelstamp.shop.premises import COVER_FILE, cover_view

    day = today.isoformat()
    if not (shop.folder / COVER_FILE).is_file():
        return []
    try:
        alarms = cover_view(shop, day).alarms
    except HeelstampError as error:
        alarms = (str(error),)
    return [
        Due(id=f"premises/{n}", tag="", kind="premises", day=day, late=0, told=told, screen="cover")
        for n, told in enumerate(alarms)
    ]


def _terms(shop: OpenShop, tag: str) -> Terms | None:
    try:
        return terms_for(shop, tag)
    except HeelstampError:
        return None  # Money says what is wrong with them
