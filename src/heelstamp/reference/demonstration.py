"""The demonstration that comes with the program: a journal before chaining, pictures, masks.

Everything in it is invented (maker, instrument, readings, people), and every picture simulated;
``builders/demo_journal.py``, ``demo_photographs.py`` and ``demo_recordings.py`` make the files. The
seeds of its entries come with it and are no secret.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from importlib import resources
from typing import Any

from heelstamp.casework.spreadsheet.sheet import Cell, Sheet

DEMO_SHOP_NAME = "Demonstration shop (invented)"
DEMO_CHRONOLOGY = "sallowby-wherry"
JOURNAL = "wherry-s10350.jsonl"
PAIRS = "pairs.json"
DEMO_COVER = (("store", "60,000", "2027-06-30"), ("", "25,000", "2027-06-30"))
"""Invented cover of the premises: a word in the place, the limit, the last day."""


@dataclass(frozen=True, slots=True)
class DemoPair:
    """What is drawn and typed for one visible / UV-A pair, and when.

    ``masks`` is a document as ``glow --masks`` takes it, and ``masks_name`` its name; ``ruler``
    and ``greys`` are the numbers of ``--ruler`` and ``--grey``; ``id`` names the observation, and
    ``seed`` is that of its entry.
    """

    id: str
    at: str
    by: str
    visible: str
    uv: str
    masks_name: str
    masks: bytes
    ruler: tuple[float, ...]
    greys: tuple[tuple[float, ...], ...]
    seed: str


def demo_pairs() -> tuple[DemoPair, ...]:
    """The two pairs of the demonstration with their masks."""
    folder = resources.files("heelstamp.reference") / "demo"
    return tuple(
        DemoPair(
            id=row["id"],
            at=row["at"],
            by=row["by"],
            visible=row["visible"],
            uv=row["uv"],
            masks_name=row["masks"],
            masks=(folder / row["masks"]).read_bytes(),
            ruler=tuple(row["ruler"]),
            greys=tuple(tuple(one) for one in row["greys"]),
            seed=row["seed"],
        )
        for row in json.loads((folder / PAIRS).read_text("utf-8"))
    )


def demo_journal() -> list[dict[str, Any]]:
    """Read the rows of its journal: ``at``, ``by``, ``kind``, ``body`` and ``seed``."""
    text = (resources.files("heelstamp.reference") / "demo" / JOURNAL).read_text("utf-8")
    return [json.loads(line) for line in text.splitlines() if line]


def demo_photographs() -> dict[str, bytes]:
    """The demonstration's pictures by file name."""
    folder = resources.files("heelstamp.reference") / "demo" / "photographs"
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.name.endswith(".jpg")}


def demo_recordings() -> dict[str, bytes]:
    """The demonstration's recordings by file name."""
    folder = resources.files("heelstamp.reference") / "demo" / "recordings"
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.name.endswith(".flac")}


SALES_HEAD = (
    "#",
    "month",
    "year",
    "cond",
    "finish",
    "pickups changed",
    "neck",
    "case",
    "colour",
    "kind",
    "USD",
)


def demo_sales() -> Sheet:
    """The demonstration's invented sales and asking prices, as a table."""
    text = (resources.files("heelstamp.reference") / "demo" / "comps.json").read_text("utf-8")
    rows = [
        (number, (Cell(f"W{number:02d}"), *(Cell(str(one)) for one in row)))
        for number, row in enumerate(json.loads(text), start=1)
    ]
    return Sheet("the demonstration's sales", SALES_HEAD, tuple(rows))


def demo_census() -> tuple[Sheet, str]:
    """The demonstration's invented census as a table, and what its columns mean."""
    folder = resources.files("heelstamp.reference") / "demo"
    census = json.loads((folder / "census.json").read_text("utf-8"))
    head = ("#", "serial", "body", "neck", "pot", *census["features"], "how dated")
    rows = []
    for number, (serial, body, neck, pot, states, how) in enumerate(census["rows"], start=1):
        cells = (number, serial, body, neck, pot, *states, how)
        rows.append((number, tuple(Cell(str(one)) for one in cells)))
    columns = (folder / "census-columns.toml").read_text("utf-8")
    return Sheet("the demonstration's census", head, tuple(rows)), columns


def demo_terms() -> str:
    """The demonstration's invented terms of consignment."""
    return (resources.files("heelstamp.reference") / "demo" / "consignment.toml").read_text("utf-8")
