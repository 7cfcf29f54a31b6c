"""Write examples/wherry-sales.csv from the invented sales that come with the program.

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
HEAD = ("#", "month", "year", "cond", "finish", "pickups changed", "neck", "case", "colour", "kind",
        "USD")  # fmt: skip


def table() -> str:
    """Give the table as CSV: one row a sale or asking price."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEAD)
    for number, row in enumerate(json.loads(SOURCE.read_text("utf-8")), start=1):
        writer.writerow([f"W{number:02d}", *row])
    return text.getvalue()


def main() -> int:
    """Write the table, or say whether it is current."""
    if "--check" in sys.argv[1:]:
        current = TARGET.is_file() and TARGET.read_text("utf-8") == table()
        print(f"{TARGET.name}: {'current' if current else 'run builders/demo_sales.py'}")
        return 0 if current else 1
    TARGET.write_text(table(), "utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
