"""Write the invented census of examples/ from the one that comes with the program.

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
COLUMNS = ROOT / "examples" / "wherry-census-columns.toml"


def table() -> str:
    """The table as CSV: one row an instrument, one column a mark or feature."""
    census = json.loads(SOURCE.read_text("utf-8"))
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["#", "serial", "body", "neck", "pot", *census["features"], "how dated"])
    for number, (serial, body, neck, pot, states, how) in enumerate(census["rows"], start=1):
        writer.writerow([number, serial, body, neck, pot, *states, how])
    return text.getvalue()


def files() -> dict[Path, str]:
    """Every file this builder answers for, with its text."""
    columns = (SOURCE.parent / "census-columns.toml").read_text("utf-8")
    return {TARGET: table(), COLUMNS: columns}


def main() -> int:
    """Write the files, or say whether they are current."""
    check = "--check" in sys.argv[1:]
    stale = {
        path: text
        for path, text in files().items()
        if not path.is_file() or path.read_text("utf-8") != text
    }
    for path, text in stale.items():
        print(f"{path.name}: {'run builders/demo_census.py' if check else 'written'}")
        if not check:
            path.write_text(text, "utf-8", newline="\n")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
