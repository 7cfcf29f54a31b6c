"""The stop table that comes with the program."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from heelstamp.casework.inspections.stop_rules import StopTable, parse_stop_table

FILE = "stop_rules.toml"


@cache
def load_stop_table() -> StopTable:
    """The bundled stop table (``stop_rules.toml``: common practice, no source)."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return parse_stop_table(tomllib.loads(text), where=FILE)
