"""What stands before a listing: the shop's own lists, its other dossiers, searches recorded.

Lists of numbers to compare lie in the shop's folder ``lists``, CSV with a column ``number``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.clearance import Clearance, ListedNumber
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.subjects import Subject

LISTS_FOLDER = "lists"


def clear(shop: OpenShop | None, subject: Subject, routes: Sequence[str]) -> Clearance:
    """Whether a subject may be advertised; see `heelstamp.casework.appraisal.clearance`."""
    from heelstamp.casework.appraisal.clearance import clearance
    from heelstamp.reference.market import protected_materials

    listed = [] if shop is None else listed_numbers(shop, subject)
    return clearance(subject.state, listed, protected_materials(), routes)


def listed_numbers(shop: OpenShop, subject: Subject) -> list[ListedNumber]:
    """Numbers of the shop's lists, and those of its other dossiers that may be near.

    Raises
    ------
    InputError
        A list has no column ``number``.
    HeelstampError
        A dossier cannot be read.
    """
    from heelstamp.casework.appraisal.clearance import ListedNumber, numbers_of
    from heelstamp.shop.comparables import table_in
    from heelstamp.shop.rack import numbers_near

    found = []
    folder = shop.folder / LISTS_FOLDER
    for path in sorted(folder.glob("*.csv")) if folder.is_dir() else ():
        sheet = table_in(path)
        names = [one.strip().casefold() for one in sheet.columns]
        if "number" not in names:
            raise InputError(
                "a list of numbers without a column of them",
                where=f"{LISTS_FOLDER}/{path.name}",
                received=", ".join(sheet.columns),
                remedy="Name the column number.",
            )
        place = names.index("number")
        found += [
            ListedNumber(cells[place].text, f"the list {path.stem}")
            for _, cells in sheet.rows
            if cells[place].text
        ]
    near = numbers_near(shop, numbers_of(subject.state), subject.name)
    return found + [ListedNumber(number, f"dossier {tag}") for tag, number in near]


def enter_cleared(
    shop: OpenShop, tag: str, stamp: EntryStamp, *, matter: str, about: str, decided: str, by: str
) -> None:
    """Enter what was searched, noted, compared or answered before an advertisement.

    Raises
    ------
    InputError
        No such matter, or nothing was said; see `heelstamp.casework.appraisal.entering`.
    """
    from heelstamp.casework.appraisal.entering import ROUTES, cleared_entries

    subject = shop.subject(tag)
    found = clear(shop, subject, ROUTES)
    entries = cleared_entries(
        subject.state, stamp, found, matter=matter, about=about, decided=decided
    )
    shop.enter(tag, entries, by=by)
