"""Edits of a chronology document as plain values: one row set, added or taken out, nothing else.

An edit gives a new document and leaves the old one as it is; whether the new one holds is for the
reader to say (``read_chronology``), which sees it whole. Fields that an edit does not name stay,
those it sets to None are taken out.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from typing import Any

from heelstamp.errors import ConflictError, InputError

Document = Mapping[str, Any]
_EDITION = re.compile(r"(.*)\.([0-9]{1,4})")
_PAIR = re.compile(r"([0-9]{1,12})\s*[-–]\s*([0-9]{1,12})")


def with_row(
    document: Document, table: str, place: int | None, told: Mapping[str, Any]
) -> dict[str, Any]:
    """Set fields of a row, or add a row.

    Parameters
    ----------
    table
        Name of the list; ``serial.knot`` for the knots of the serial curve.
    place
        Which row, from 0; None adds one at the end.
    told
        Fields; None takes one out.

    Raises
    ------
    InputError
        There is no such list to add to.
    ConflictError
        There is no such row: the document was changed since.
    """
    new = copy.deepcopy(dict(document))
    rows = _rows(new, table)
    if place is None:
        rows.append({})
        place = len(rows) - 1
    row = _row(rows, table, place)
    for key, value in told.items():
        if value is None:
            row.pop(key, None)
        else:
            row[key] = value
    return new


def without_row(document: Document, table: str, place: int) -> dict[str, Any]:
    """Take a row out; see `with_row`."""
    new = copy.deepcopy(dict(document))
    rows = _rows(new, table)
    _row(rows, table, place)
    del rows[place]
    if not rows and "." not in table:
        del new[table]
    return new


def with_change(
    document: Document, feature: str, place: int, told: Mapping[str, Any]
) -> dict[str, Any]:
    """Set what was seen of one change-over of a feature, or of its passing batch.

    Raises
    ------
    InputError
        There is no such feature.
    ConflictError
        It has no such change-over: the document was changed since.
    """
    new = copy.deepcopy(dict(document))
    row = next((one for one in new.get("feature", []) if one.get("id") == feature), None)
    if row is None:
        raise InputError("no such feature", received=feature, remedy="See the list.")
    changes = [row["passing"]] if "passing" in row else row.get("change", [])
    change = _row(changes, f"change of {feature}", place)
    for key, value in told.items():
        if value is None:
            change.pop(key, None)
        else:
            change[key] = value
    return new


def with_table(document: Document, table: str, told: Mapping[str, Any]) -> dict[str, Any]:
    """Set fields of a single table, such as ``timing`` or ``serial``."""
    new = copy.deepcopy(dict(document))
    if not isinstance(new.get(table), dict):
        raise InputError(
            f"this chronology has no table {table}", remedy="Add it in the whole text first."
        )
    new[table] |= told
    return new


def in_edition(document: Document, edition: str) -> dict[str, Any]:
    """Name the edition."""
    return {**document, "edition": edition}


def next_edition(present: str, today: str) -> str:
    """Name the edition after *present*: the day, or the day and a number where it has that day.

    Examples
    --------
    >>> next_edition("2026-11", "2026-11-25")
    '2026-11-25'
    >>> next_edition("2026-11-25", "2026-11-25")
    '2026-11-25.2'
    >>> next_edition("2026-11-25.2", "2026-11-25")
    '2026-11-25.3'
    """
    if present == today:
        return f"{today}.2"
    match = _EDITION.fullmatch(present)
    if match is not None and match[1] == today:
        return f"{today}.{int(match[2]) + 1}"
    return today


def pairs_of(text: str) -> list[list[int]]:
    """Read ``6210-6289; 7000-7010``.

    Raises
    ------
    InputError
        Something else stands there, or a pair ends before it begins.
    """
    found = []
    for one in re.split(r"[;,]", text):
        if not one.strip():
            continue
        match = _PAIR.fullmatch(one.strip())
        if match is None or int(match[1]) > int(match[2]):
            raise InputError(
                "not a run of numbers", received=one.strip(), remedy="Write it as 6210-6289."
            )
        found.append([int(match[1]), int(match[2])])
    return found


def _rows(document: dict[str, Any], table: str) -> list[dict[str, Any]]:
    outer, _, inner = table.partition(".")
    if not inner:
        rows = document.setdefault(outer, [])
    else:
        if not isinstance(document.get(outer), dict):
            raise InputError(
                f"this chronology has no table {outer}", remedy="Add it in the whole text first."
            )
        rows = document[outer].setdefault(inner, [])
    found: list[dict[str, Any]] = rows
    return found


def _row(rows: list[dict[str, Any]], table: str, place: int) -> dict[str, Any]:
    if not 0 <= place < len(rows):
        raise ConflictError(
            "there is no such row any more",
            where=table,
            received=place + 1,
            remedy="Look at the chronology again: it was changed since.",
        )
    return rows[place]
