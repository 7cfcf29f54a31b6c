"""What stands before a listing: the shop's own lists, its other dossiers, searches recorded.

Lists of numbers to compare lie in the shop's folder ``lists``, CSV with a column ``number``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.shop.folder import is_shop, now, open_shop
from heelstamp.shop.files import read_file
from heelstamp.shop.subjects import Subject
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.clearance import Clearance, ListedNumber

LISTS_FOLDER = "lists"


def clear(subject: Subject, shop: Path, routes: list[str]) -> Clearance:
    """Tell whether a subject may be advertised; see `heelstamp.casework.appraisal.clearance`."""
    from heelstamp.casework.appraisal.clearance import clearance
    from heelstamp.reference.market import protected_materials

    listed = listed_numbers(shop, subject.name) if is_shop(shop) else []
    return clearance(subject.state, listed, protected_materials(), routes)


def listed_numbers(shop: Path, but: str) -> list[ListedNumber]:
    """Give the numbers of the shop's lists, and of its dossiers but one.

    Raises
    ------
    InputError
        A list has no column ``number``.
    """
    from heelstamp.casework.appraisal.clearance import ListedNumber, numbers_of
    from heelstamp.casework.dossier import state_of
    from heelstamp.media.spreadsheets import read_sheet

    found = []
    folder = shop / LISTS_FOLDER
    for path in sorted(folder.glob("*.csv")) if folder.is_dir() else ():
        sheet = read_sheet(read_file(path), path.name)
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
    with open_shop(shop) as opened:
        for tag in opened.journals.tags():
            if tag != but:
                numbers = numbers_of(state_of(opened, tag))
                found += [ListedNumber(number, f"dossier {tag}") for number in numbers]
    return found


def record_search(shop: Path, tag: str, list_: str, result: str, *, day: str, by: str) -> str:
    """Enter a search of one list into a dossier, as a decision; give its id."""
    from heelstamp.casework.appraisal.clearance import SEARCH, numbers_of
    from heelstamp.casework.dossier import append, next_id, state_of

    with open_shop(shop) as opened:
        state = state_of(opened, tag)
        numbers = ", ".join(numbers_of(state)) or "no number that was read"
        id_ = next_id(state, "search-")
        body = {
            "id": id_,
            "about": f"{SEARCH} {list_}",
            "decided": result,
            "reason": f"searched on {day} for {numbers}",
        }
        append(opened, tag, "decision", body, at=now(), by=by)
    return id_
