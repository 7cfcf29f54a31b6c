"""From a shop's table of sales to comparables; every cell that cannot be used is told, none taken.

A column map is a TOML document, schema ``heelstamp/sales-columns/1``; without one, columns are
taken by their names (``NAMES``), and a column named by a currency (``USD``) is a price in it. A
price is either what was paid in all, or a hammer price with the buyer's premium beside it. A blank
cell, or a word for *not looked*, is not recorded.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Literal

import msgspec

from heelstamp.casework.appraisal.comparables import ASPECTS, GRADES, Comparable, encode
from heelstamp.casework.census.columns import WORDS, parse_map
from heelstamp.casework.census.intake import places_of
from heelstamp.casework.spreadsheet.reading import Declared, Role, RoleOf
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet, at_cell, refuse_cells, refuse_formula
from heelstamp.catalogue.conversion import convert
from heelstamp.documents import locate
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import parse_month
from heelstamp.valuation.money import Money, parse_rate

SALES_SCHEMA = "heelstamp/sales-columns/1"
Holds = Literal[
    "id",
    "date",
    "price",
    "hammer",
    "premium",
    "currency",
    "kind",
    "venue",
    "made",
    "grade",
    "aspect",
    "finish",
    "pickups",
    "others",
    "other model",
    "routed",
    "repaired break",
    "refretted",
    "days",
    "piece",
    "neck",
    "neck seen",
    "case",
    "colour",
    "weight",
    "source",
    "note",
    "ignore",
]
NAMES: dict[str, Holds] = {
    "id": "id",
    "#": "id",
    "date": "date",
    "month": "date",
    "price": "price",
    "paid": "price",
    "hammer": "hammer",
    "premium": "premium",
    "currency": "currency",
    "kind": "kind",
    "venue": "venue",
    "made": "made",
    "year": "made",
    "grade": "grade",
    "cond": "grade",
    "condition": "grade",
    "finish": "finish",
    "pickups": "pickups",
    "pickups changed": "pickups",
    "others": "others",
    "other parts changed": "others",
    "other model": "other model",
    "parts of another model": "other model",
    "routed": "routed",
    "repaired break": "repaired break",
    "refretted": "refretted",
    "refret": "refretted",
    "days": "days",
    "piece": "piece",
    "neck": "neck",
    "neck seen": "neck seen",
    "case": "case",
    "colour": "colour",
    "color": "colour",
    "weight": "weight",
    "weight g": "weight",
    "source": "source",
    "note": "note",
}
EARLIEST, LATEST = 1850, 2100
"""Years of making that can be meant."""

_ROLES: dict[str, Role] = {
    "date": "date",
    "price": "number",
    "hammer": "number",
    "premium": "number",
    "weight": "number",
    "days": "number",
}
_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
_SAID: dict[str, dict[str, Any]] = {
    "kind": {
        "sold": "sold",
        "asking": "asking",
        "ask": "asking",
        "asked": "asking",
        "unsold": "unsold",
    },
    "venue": {one: one for one in ("auction", "shop", "private", "online", "fair")},
    "finish": {
        "original": "original",
        "orig": "original",
        "orig.": "original",
        "touch-up": "touched_up",
        "touched up": "touched_up",
        "touched_up": "touched_up",
        "refin": "refinished",
        "refin.": "refinished",
        "refinished": "refinished",
        "old refinish": "old_refinish",
        "recent refinish": "recent_refinish",
    },
    "neck": {
        "first": "first",
        "original": "first",
        "later": "later",
        "changed": "later",
        "replaced": "later",
    },
    "neck seen": _YES,
    "routed": _YES,
    "repaired break": _YES,
    "refretted": _YES,
    "case": {**_YES, "absent": False},
    "colour": {"std": "standard", "standard": "standard", "rare": "rare", "custom": "rare"},
}
_YES_OR_NO = frozenset({"case", "neck seen", "routed", "repaired break", "refretted"})
_YEARS = re.compile(r"(\d{4})(?:\s*[-–/]\s*(\d{4}))?")
_CURRENCY = re.compile(r"[A-Z]{3}")
NO_CURRENCY = "XXX"
"""Code where no currency is involved (ISO 4217): the amount alone is held to its form."""


class SalesColumn(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One column: its name, what it holds, its currency or aspect, and what its cells stand for."""

    name: str
    holds: Holds
    currency: str = ""
    aspect: str = ""
    values: dict[str, str] = {}


class SalesMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the columns of a table of sales mean.

    Attributes
    ----------
    currency, kind, source
        For rows without a word on it.
    reading
        How the table is written: encoding, head, decimal mark, order of dates.
    """

    schema: str
    currency: str = ""
    kind: str = ""
    source: str = ""
    column: list[SalesColumn] = []
    reading: Declared = Declared()


def held_by_name(name: str) -> SalesColumn | None:
    """What a column of this name holds; None where the name says nothing."""
    bare = name.strip().casefold().replace("_", " ")
    if bare in NAMES:
        return SalesColumn(name=name, holds=NAMES[bare])
    if bare in ASPECTS:
        return SalesColumn(name=name, holds="aspect", aspect=bare)
    if _CURRENCY.fullmatch(name.strip()):
        return SalesColumn(name=name, holds="price", currency=name.strip())
    return None


def sales_role(columns: SalesMap | None) -> RoleOf:
    """Tell whether a column of a table of sales holds numbers, dates or texts."""
    mapped = {one.name: one for one in (columns.column if columns is not None else ())}

    def role(name: str) -> Role | None:
        one = mapped.get(name) if mapped else held_by_name(name)
        return None if one is None else _ROLES.get(one.holds, "text")

    return role


def read_sales_map(text: str, name: str) -> SalesMap:
    """Read a column map.

    Raises
    ------
    InputError
        Broken syntax, an unknown field or thing to hold; names file and line.
    """
    data = parse_map(text, name, SALES_SCHEMA)
    columns = []
    rows: Sequence[Mapping[str, Any]] = data.get("column", [])
    for index, row in enumerate(rows):
        place = f"{name}, line {locate(text, 'column', index)}, column {index + 1}"
        try:
            one = convert(row, SalesColumn)
        except HeelstampError as error:
            raise error.at(place) from None
        if one.holds == "aspect" and one.aspect not in ASPECTS:
            raise InputError(
                "no such aspect of condition",
                where=f"{place}, field aspect",
                received=one.aspect,
                remedy="Use one of: " + ", ".join(ASPECTS) + ".",
            )
        columns.append(one)
    try:
        found = convert({**data, "column": []}, SalesMap)
    except InputError as error:
        raise error.at(name) from None
    return msgspec.structs.replace(found, column=columns)


def sales_map_by_name(names: Sequence[str]) -> SalesMap:
    """Take the columns by their names alone.

    Raises
    ------
    InputError
        A name says nothing; the message tells how to map it.
    """
    columns = []
    for name in names:
        held = held_by_name(name)
        if held is None:
            raise InputError(
                "the name of this column says nothing",
                where=f"column {name or '(blank)'}",
                remedy="Say what it holds in a column map, or take it out.",
            )
        columns.append(held)
    return SalesMap(schema=SALES_SCHEMA, column=columns)


def comparables_from(
    sheet: Sheet,
    columns: SalesMap | None = None,
    *,
    known: Sequence[Comparable] = (),
    called: str = "",
) -> list[Comparable]:
    """Make comparables of a table.

    Parameters
    ----------
    columns
        What the columns mean; taken by their names when None.
    known
        Rows kept already: a sale that is among them is refused.
    called
        Name of the table, before the ids of rows without one, so that two tables keep apart.

    Raises
    ------
    TableError
        Cells cannot be used, or a sale comes twice; the error holds all of them.
    InputError
        A column is missing, comes twice, or its name says nothing.
    """
    columns = columns or sales_map_by_name(sheet.columns)
    places = places_of(sheet, columns.column)
    intake = _Intake(columns, known, f"{called} " if called else "")
    rows = [
        intake.row(number, [(one, cells[place]) for one, place in places])
        for number, cells in sheet.rows
    ]
    refuse_cells(sheet, intake.errors)
    return [row for row in rows if row is not None]


class _Intake:
    def __init__(self, columns: SalesMap, known: Sequence[Comparable], called: str) -> None:
        self.columns, self.called = columns, called
        self.errors: list[HeelstampError] = []
        self.taken: dict[str, str] = {_bare(one): one.id for one in known}
        self.ids = {one.id: one.id for one in known}

    def row(self, number: int, cells: Sequence[tuple[SalesColumn, Cell]]) -> Comparable | None:
        """Make one row; None, with its errors noted, when it cannot be."""
        before = len(self.errors)
        facts: dict[str, Any] = {"id": f"{self.called}row {number}", "source": self.columns.source}
        for column, cell in cells:
            try:
                self._fact(facts, column, cell)
            except HeelstampError as error:
                self.errors.append(at_cell(error, f"row {number}, column {column.name}"))
        if len(self.errors) > before:
            return None
        try:
            return self._made(facts, number)
        except HeelstampError as error:
            self.errors.append(at_cell(error, f"row {number}"))
            return None

    def _fact(self, facts: dict[str, Any], column: SalesColumn, cell: Cell) -> None:
        text = column.values.get(cell.text, cell.text).strip()
        if column.holds == "ignore":
            return
        refuse_formula(cell)
        if cell.holds == "error" or (cell.holds == "truth" and column.holds not in _YES_OR_NO):
            raise InputError(
                f"the spreadsheet made a {cell.holds} value of this cell",
                received=cell.text,
                remedy="Format the column as text, and write it again.",
            )
        if cell.holds == "date" and column.holds != "date":
            raise InputError(
                "the spreadsheet made a date of this cell",
                received=cell.text,
                remedy="Format the column as text, and write it again.",
            )
        said = _SAID.get(column.holds)
        if said is not None and text.casefold() in said:
            facts[column.holds.replace(" ", "_")] = said[text.casefold()]
        elif not text or any(text.casefold() in words for words in WORDS.values()):
            return
        elif said is not None:
            raise InputError(
                "a word that says nothing here",
                received=text,
                remedy="Use one of: " + ", ".join(said) + "; or map it with values.",
            )
        else:
            _READ[column.holds](facts, text, column)

    def _made(self, facts: dict[str, Any], number: int) -> Comparable:
        facts.setdefault("kind", self.columns.kind)
        currency = facts.setdefault("currency", self.columns.currency)
        if not facts["kind"]:
            raise InputError(
                "neither sold, asking nor unsold",
                remedy="Give a column of kind, or kind in the map.",
            )
        if "month" not in facts:
            raise InputError("a price without a date", remedy="Give the month of the sale.")
        facts["minor"] = _paid(facts, currency).minor
        for done in ("paid", "hammer"):
            facts.pop(done, None)
        made = convert(facts, Comparable)
        if made.id in self.ids:
            raise InputError(
                f"the id of {self.ids[made.id]} again", received=made.id, remedy="Ids differ."
            )
        bare = _bare(made)
        if bare in self.taken:
            raise InputError(
                f"the same sale as {self.taken[bare]}",
                received=made.id,
                remedy="Take it out, or tell the two apart.",
            )
        self.ids[made.id] = self.taken[bare] = f"row {number}"
        return made


def _bare(row: Comparable) -> str:
    """Return the facts of a row without id, source and note, as a key."""
    return encode(msgspec.structs.replace(row, id="-", source="", note=""))


def _paid(facts: Mapping[str, Any], currency: str) -> Money:
    if not currency:
        raise InputError(
            "a price without a currency", remedy="Give a column of it, or currency in the map."
        )
    paid, hammer = facts.get("paid"), facts.get("hammer")
    if (paid is None) == (hammer is None):
        raise InputError(
            "no price" if paid is None else "a price in all and a hammer price",
            remedy="Give one of them.",
        )
    if paid is not None:
        found = Money.parse(paid, currency)
    else:
        premium = parse_rate(facts["premium"]) if facts.get("premium") else None
        if premium is None:
            raise InputError(
                "a hammer price without the buyer's premium",
                received=hammer,
                remedy="Give the premium, 0 % if there was none.",
            )
        found = Money.parse(str(hammer), currency).share(Decimal(1) + premium)
    if found.minor <= 0:
        raise InputError("a price is above nought", received=str(found))
    return found


def _month(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    del column
    month = text[:7]
    parse_month(month)
    facts["month"] = month


def _made(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    del column
    match = _YEARS.fullmatch(text)
    first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
    if not EARLIEST <= first <= last <= LATEST:
        raise InputError("not a year of making", received=text, remedy="Write 1964 or 1964-1966.")
    facts["made"] = (first, last)


def _grade(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    if text not in GRADES:
        raise InputError("not a grade", received=text, remedy="Use A (best) to E.")
    if column.holds == "aspect":
        facts.setdefault("aspects", {})[column.aspect] = text
    else:
        facts["grade"] = text


def _count(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    if not text.isascii() or not text.isdigit() or len(text) > 2:
        raise InputError("not a small whole number", received=text, remedy="Count them.")
    facts[column.holds.replace(" ", "_")] = int(text)


def _days(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    del column
    if not text.isascii() or not text.isdigit() or len(text) > 5:
        raise InputError("not a number of days", received=text, remedy="Count whole days.")
    facts["days"] = int(text)


def _weight(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    del column
    try:
        facts["weight_g"] = float(text.replace(",", ""))
    except ValueError:
        raise InputError(
            "not a weight in grams", received=text, remedy="Write it as 3284."
        ) from None


def _price(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    key = "paid" if column.holds == "price" else "hammer"
    if key in facts:
        raise InputError("a second price in this row", received=text, remedy="Leave one.")
    Money.parse(text, column.currency or NO_CURRENCY)
    facts[key] = text
    if column.currency:
        facts["currency"] = column.currency


def _text(facts: dict[str, Any], text: str, column: SalesColumn) -> None:
    if column.holds == "currency" and not _CURRENCY.fullmatch(text):
        raise InputError("not a currency", received=text, remedy="Use its code, such as USD.")
    if column.holds == "premium":
        parse_rate(text)
    if len(text) > 2000:
        raise InputError("too long", received=text, remedy="At most 2000 characters.")
    facts[column.holds] = text


_Reader = Callable[[dict[str, Any], str, SalesColumn], None]
_READ: dict[str, _Reader] = {
    "date": _month,
    "made": _made,
    "grade": _grade,
    "aspect": _grade,
    "pickups": _count,
    "others": _count,
    "other model": _count,
    "days": _days,
    "piece": _text,
    "weight": _weight,
    "price": _price,
    "hammer": _price,
    "premium": _text,
    "currency": _text,
    "id": _text,
    "source": _text,
    "note": _text,
}
