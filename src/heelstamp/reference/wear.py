"""The table of wear that comes with the program."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from heelstamp.casework.consistency import WearTable, parse_wear_table

FILE = "wear.toml"


@cache
def load_wear_table() -> WearTable:
    """The bundled table (``wear.toml``: common practice, no source)."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return parse_wear_table(tomllib.loads(text), where=FILE)
