"""The page that checks papers, packs and journals in a browser, in one file without a network.

Its script uses the browser's own cryptography (W3C Web Cryptography) and nothing from elsewhere;
its policy forbids it every connection. It travels in packs and is handed out by the shop: who wants
to be sure takes it from there, not from what is to be checked.
"""

from __future__ import annotations

from pathlib import Path

CHECK_PAGE = "check.html"
_TEMPLATES = Path(__file__).parent / "templates"


def check_page() -> bytes:
    """The page, the same bytes each time."""
    page = (_TEMPLATES / CHECK_PAGE).read_text("utf-8")
    script = (_TEMPLATES / "check.js").read_text("utf-8")
    return page.replace("/* check.js */", script).encode()
