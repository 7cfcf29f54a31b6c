"""The invented census that comes with the program, as rows, and the truth planted in it."""

import json
import tomllib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from heelstamp.casework.census.columns import read_columns
from heelstamp.casework.census.intake import rows_from_sheet
from heelstamp.casework.census.rows import CensusRow
from heelstamp.chronology import Chronology, parse_chronology
from heelstamp.marks import MarkContext
from heelstamp.media.spreadsheets import read_sheet
from heelstamp.reference.tables import mark_context

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TABLE = EXAMPLES / "wherry-census.csv"
COLUMNS = EXAMPLES / "wherry-census-columns.toml"


@cache
def tables() -> MarkContext:
    return mark_context()


def document() -> dict[str, Any]:
    """The shipped edition as plain values."""
    folder = resources.files("heelstamp.reference") / "chronologies"
    return tomllib.loads((folder / "sallowby-wherry.toml").read_text("utf-8"))


@cache
def edition() -> Chronology:
    return parse_chronology(document(), name="sallowby-wherry.toml")


@cache
def wherry_rows() -> tuple[CensusRow, ...]:
    """All thirty rows, taken over from the table as a shop would."""
    sheet = read_sheet(TABLE.read_bytes(), TABLE.name)
    columns = read_columns(COLUMNS.read_text("utf-8"), COLUMNS.name, edition())
    return tuple(rows_from_sheet(sheet, columns, edition(), tables()))


@cache
def true_months() -> tuple[str, ...]:
    source = resources.files("heelstamp.reference") / "demo" / "census.json"
    return tuple(json.loads(source.read_text("utf-8"))["true_month"])
