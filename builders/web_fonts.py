"""Make the bench's web fonts: Latin and the signs the pages use, from the typefaces of the papers.

The typefaces are Source Sans 3 under the SIL Open Font License 1.1, whose reserved name a changed
font may not carry; these are called Heelstamp Sans. Usage: ``python builders/web_fonts.py``, or
with ``--check``.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

PACKAGE = Path(__file__).resolve().parents[1] / "src" / "heelstamp"
FONTS = {"Regular": "sans-regular.woff2", "Semibold": "sans-semibold.woff2"}
FAMILY = "Heelstamp Sans"
TEXT = [
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    *map(ord, "–—‘’“”•…‰′″€→←↑↓−×÷≈≤≥◂▸◆✓ΔΩμρπσ⁰⁴⁵⁶⁷⁸⁹⁻"),
]
FAMILY_NAMES = {1: FAMILY, 16: FAMILY}


def make(style: str) -> bytes:
    """One font as WOFF2."""
    font = TTFont(PACKAGE / "report" / "fonts" / f"SourceSans3-{style}.otf", recalcTimestamp=False)
    options = Options()
    options.layout_features = ["kern", "liga", "tnum", "mark", "mkmk", "ccmp", "locl"]
    options.name_IDs = [0, 1, 2, 13, 14]
    options.notdef_outline = True
    options.hinting = False
    options.desubroutinize = True
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=TEXT)
    subsetter.subset(font)
    for record in font["name"].names:
        if record.nameID in FAMILY_NAMES:
            record.string = FAMILY_NAMES[record.nameID]
    if "CFF " in font:
        top = font["CFF "].cff.topDictIndex[0]
        top.FamilyName, top.FullName = FAMILY, f"{FAMILY} {style}"
        font["CFF "].cff.fontNames = [f"HeelstampSans-{style}"]
    font.flavor = "woff2"
    out = io.BytesIO()
    font.save(out, reorderTables=False)
    return out.getvalue()


def main(arguments: list[str]) -> int:
    """Write the fonts, or say which are not current."""
    stale = []
    for style, name in FONTS.items():
        path, made = PACKAGE / "web" / "static" / name, make(style)
        if "--check" in arguments:
            if not path.exists() or path.read_bytes() != made:
                stale.append(name)
        else:
            path.write_bytes(made)
            print(name, len(made))
    print(f"stale: {', '.join(stale)}" if stale else "web fonts: current")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
