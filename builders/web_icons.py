"""Draw the stamp in the sizes that a device installs (Web Application Manifest, W3C, "icons").

Usage: ``python builders/web_icons.py``, or with ``--check``.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import typst

STATIC = Path(__file__).resolve().parents[1] / "src" / "heelstamp" / "web" / "static"
STAMP = STATIC / "stamp.svg"
SIZES = (192, 512)
"""Pixels a side; browsers ask for both before they offer to install."""


def drawn(size: int) -> bytes:
    """The stamp as PNG: one point of a page is one pixel at 72 to the inch."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / STAMP.name).write_bytes(STAMP.read_bytes())
        page = Path(folder) / "page.typ"
        page.write_text(
            f"#set page(width: {size}pt, height: {size}pt, margin: 0pt)\n"
            f'#image("{STAMP.name}", width: 100%)\n'
        )
        made = typst.compile(page, format="png", ppi=72)
    assert isinstance(made, bytes)
    return made


def main(arguments: list[str]) -> int:
    """Write the pictures, or say that one is not current."""
    made = {STATIC / f"stamp-{size}.png": drawn(size) for size in SIZES}
    stale = [one.name for one, data in made.items() if not one.exists() or one.read_bytes() != data]
    if "--check" in arguments:
        if stale:
            print(f"not current: {', '.join(stale)}; run builders/web_icons.py")
        return bool(stale)
    for path, data in made.items():
        path.write_bytes(data)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
