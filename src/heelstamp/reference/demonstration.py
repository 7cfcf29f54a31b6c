"""The demonstration that comes with the program: a journal before chaining, and its pictures.

Everything in it is invented (maker, instrument, readings, people), and every picture simulated;
``builders/demo_journal.py`` and ``builders/demo_photographs.py`` make the files.
"""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from heelstamp.casework.census.sheet import Cell, Sheet

DEMO_SHOP_NAME = "Demonstration shop (invented)"
JOURNAL = "wherry-s10350.jsonl"


def demo_journal() -> list[dict[str, Any]]:
    """Give the rows of the demonstration's journal: ``at``, ``by``, ``kind`` and ``body``."""
    text = (resources.files("heelstamp.reference") / "demo" / JOURNAL).read_text("utf-8")
    return [json.loads(line) for line in text.splitlines() if line]


def demo_photographs() -> dict[str, bytes]:
    """Give the demonstration's pictures by file name."""
    folder = resources.files("heelstamp.reference") / "demo" / "photographs"
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.name.endswith(".jpg")}


SALES_HEAD = (
    "#", "month", "year", "cond", "finish", "pickups changed", "neck", "case", "colour", "kind",
    "USD",
)  # fmt: skip


def demo_sales() -> Sheet:
    """Give the demonstration's invented sales and asking prices, as a table."""
    text = (resources.files("heelstamp.reference") / "demo" / "comps.json").read_text("utf-8")
    rows = [
        (number, (Cell(f"W{number:02d}"), *(Cell(str(one)) for one in row)))
        for number, row in enumerate(json.loads(text), start=1)
    ]
    return Sheet("the demonstration's sales", SALES_HEAD, tuple(rows))


def demo_terms() -> str:
    """Give the demonstration's invented terms of consignment."""
    return (resources.files("heelstamp.reference") / "demo" / "consignment.toml").read_text("utf-8")
