"""From a shop's list of instruments to dossiers to be opened; cells of no use are all told."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from heelstamp.casework.spreadsheet.reading import Role
from heelstamp.casework.spreadsheet.sheet import Sheet, at_cell, refuse_cells, refuse_formula
from heelstamp.catalogue import parse_body
from heelstamp.errors import HeelstampError, InputError

NAMES: Mapping[str, str] = {
    "tag": "tag",
    "number": "tag",
    "kind": "kind",
    "maker": "maker",
    "make": "maker",
    "model": "model",
    "chronology": "chronology",
    "claimed": "claimed",
    "year": "claimed",
    "made": "claimed",
}
"""Names of columns, and the fields of an instrument that they hold."""


def instruments_role(name: str) -> Role | None:
    """Tell whether the name of a column says anything; all of them hold texts."""
    return "text" if name.strip().casefold() in NAMES else None


def instruments_from(
    sheet: Sheet, known: Mapping[tuple[str, str], str], taken: Callable[[str], bool]
) -> list[dict[str, Any]]:
    """Make the bodies of instruments of a table; a row without a kind is a guitar.

    Parameters
    ----------
    known
        Chronology by maker and model, in small letters, for rows that name none.
    taken
        Whether a tag has a dossier already.

    Raises
    ------
    TableError
        Cells cannot be used, or a tag comes twice or is taken; it holds all of them.
    InputError
        A column's name says nothing.
    """
    fields = []
    for name in sheet.columns:
        held = NAMES.get(name.strip().casefold())
        if held is None:
            raise InputError(
                "the name of this column says nothing",
                where=f"column {name or '(blank)'}",
                remedy="Use " + ", ".join(dict.fromkeys(NAMES.values())) + "; or take it out.",
            )
        fields.append(held)
    errors: list[HeelstampError] = []
    rows: list[dict[str, Any]] = []
    tags: dict[str, int] = {}
    for number, cells in sheet.rows:
        body: dict[str, Any] = {"kind": "guitar"}
        try:
            for held, cell in zip(fields, cells, strict=True):
                refuse_formula(cell)
                if cell.text:
                    body[held] = cell.text
            _complete(body, known)
            tag = body["tag"]
            if tag in tags or taken(tag):
                raise InputError(
                    f"the tag of row {tags[tag]} again" if tag in tags else "this dossier exists",
                    received=tag,
                    remedy="Give another tag, or take the row out.",
                )
            parse_body("instrument", body, where="")
            tags[tag] = number
            rows.append(body)
        except HeelstampError as error:
            place = f"row {number}" + (f", {error.where}" if error.where else "")
            errors.append(at_cell(error, place))
    refuse_cells(sheet, errors)
    return rows


def _complete(body: dict[str, Any], known: Mapping[tuple[str, str], str]) -> None:
    if not body.get("tag"):
        raise InputError("an instrument without a tag", remedy="Give one, as H-0001.")
    if "chronology" not in body:
        key = (str(body.get("maker", "")).casefold(), str(body.get("model", "")).casefold())
        if key not in known:
            raise InputError(
                "no chronology of this maker and model",
                received=" ".join(str(body.get(one, "")) for one in ("maker", "model")).strip(),
                remedy="Give its id in a column chronology.",
            )
        body["chronology"] = known[key]
