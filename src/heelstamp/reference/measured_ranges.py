"""Ranges of measured values seen on instruments of one chronology, bundled with the program."""

from __future__ import annotations

import tomllib
from importlib import resources

from heelstamp.casework.jack import SeenRow
from heelstamp.electrics import SeenRange

FILE = "measured_ranges.toml"


def ranges_seen(chronology: str) -> dict[str, SeenRow]:
    """The ranges of a chronology by key of the part, ohms at 20 °C; empty without any."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return {
        row["part"]: SeenRow(SeenRange(row["low"], row["high"], row.get("count")), row["source"])
        for row in tomllib.loads(text)["range"]
        if row["chronology"] == chronology
    }
