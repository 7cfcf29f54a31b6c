"""The demonstration that comes with the program: a journal before chaining, and its pictures.

Everything in it is invented (maker, instrument, readings, people), and every picture simulated;
``builders/demo_journal.py``, ``demo_photographs.py`` and ``demo_recordings.py`` make the files.
"""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

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


def demo_recordings() -> dict[str, bytes]:
    """Give the demonstration's recordings by file name."""
    folder = resources.files("heelstamp.reference") / "demo" / "recordings"
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.name.endswith(".flac")}
