"""Write examples/wherry-sales.csv and examples/consignment.toml from what the demonstration has.

Usage: python builders/demo_sales.py [--check]
"""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "heelstamp" / "reference" / "demo" / "comps.json"
TARGET = ROOT / "examples" / "wherry-sales.csv"
HEAD = (
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


def table() -> str:
    """The table as CSV: one row a sale or asking price."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEAD)
    for number, row in enumerate(json.loads(SOURCE.read_text("utf-8")), start=1):
        writer.writerow([f"W{number:02d}", *row])
    return text.getvalue()


def files() -> dict[Path, str]:
    """Every file this builder answers for, with its text."""
    terms = (SOURCE.parent / "consignment.toml").read_text("utf-8")
    return {TARGET: table(), TARGET.parent / "consignment.toml": terms}


def main() -> int:
    """Write the files, or say whether they are current."""
    stale = [
        path
        for path, text in files().items()
        if not path.is_file() or path.read_text("utf-8") != text
    ]
    check = "--check" in sys.argv[1:]
    for path in stale:
        print(f"{path.name}: {'run builders/demo_sales.py' if check else 'written'}")
        if not check:
            path.write_text(files()[path], "utf-8", newline="\n")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
