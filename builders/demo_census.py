"""Write examples/wherry-census.csv from the invented census that comes with the program.

Usage: python builders/demo_census.py [--check]
"""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "heelstamp" / "reference" / "demo" / "census.json"
TARGET = ROOT / "examples" / "wherry-census.csv"


def table() -> str:
    """Give the table as CSV: one row an instrument, one column a mark or feature."""
    census = json.loads(SOURCE.read_text("utf-8"))
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["#", "serial", "body", "neck", "pot", *census["features"], "how dated"])
    for number, (serial, body, neck, pot, states, how) in enumerate(census["rows"], start=1):
        writer.writerow([number, serial, body, neck, pot, *states, how])
    return text.getvalue()


def main() -> int:
    """Write the table, or say whether it is current."""
    if "--check" in sys.argv[1:]:
        current = TARGET.read_text("utf-8") == table()
        print(f"{TARGET.name}: {'current' if current else 'run builders/demo_census.py'}")
        return 0 if current else 1
    TARGET.write_text(table(), "utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
