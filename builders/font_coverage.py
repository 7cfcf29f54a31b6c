"""List the characters that the typefaces of papers can show, for papers and for who enters text.

Read from the character maps of the typefaces (OpenType ``cmap``). Usage:
``python builders/font_coverage.py``, or with ``--check``.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools.ttLib import TTFont

PACKAGE = Path(__file__).resolve().parents[1] / "src" / "heelstamp"
FONTS = PACKAGE / "report" / "fonts"
TABLES = (FONTS / "coverage.txt", PACKAGE / "web" / "static" / "shown.txt")


def made() -> str:
    """The table: a line for each run of characters, first and last in hexadecimal."""
    known: set[int] = set()
    for path in sorted([*FONTS.glob("*.otf"), *FONTS.glob("*.ttf")]):
        known |= set(TTFont(path, lazy=True).getBestCmap())
    lines, first = [], None
    for code in sorted(known):
        if first is None:
            first = code
        if code + 1 not in known:
            lines.append(f"{first:X} {code:X}")
            first = None
    return "\n".join(lines) + "\n"


def main(arguments: list[str]) -> int:
    """Write the table for papers and for the bench, or say that one is not current."""
    table = made()
    if "--check" in arguments:
        stale = [path.name for path in TABLES if not path.exists() or path.read_text() != table]
        if stale:
            print(f"not current: {', '.join(stale)}; run builders/font_coverage.py")
        return bool(stale)
    for path in TABLES:
        path.write_text(table)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
