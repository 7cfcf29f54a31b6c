"""Any text on a paper: what no typeface shows becomes a visible box, and long words may break.

A paper is never stopped by a name or a note. Four typefaces are tried in turn (`FAMILIES`); they
hold Latin, Greek, Cyrillic, Hebrew, Arabic, Chinese, Japanese, Korean and emoji. What none of them
holds, and what PDF/A-3a forbids (private use, ISO 19005-3, 6.2.11.7), is printed as `BOX`; the
record keeps it as it was typed. `boxed` names those characters, so that who types one is told.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files

FAMILIES = ("Source Sans 3", "DejaVu Sans", "Droid Sans Fallback", "Noto Emoji")
BOX = "\u25a1"
BOX_TOLD = (
    f"{BOX} stands for a character that the typefaces of this paper do not hold; the record keeps "
    "it as it was typed."
)
WORD_MAX = 24
"""Characters of a word after which a line may break within it."""
_STEP = 8
_UNSHOWN = frozenset({"Cf", "Zl", "Zp"})
_FORBIDDEN = frozenset({"Co", "Cn", "Cs", "Cc"})
_SPACES = frozenset("\n\t ")
_LONG = re.compile(rf"[^\s\u200b/]{{{WORD_MAX + 1},}}")
_NAMES = frozenset({"path", "swatch", "name", "mime", "relationship", "key", "kind", "id", "layer"})
"""Fields of a page's values that hold names of the program's own files and words."""


@lru_cache(1)
def _table() -> tuple[tuple[int, ...], tuple[int, ...]]:
    rows = files("heelstamp.report").joinpath("fonts/coverage.txt").read_text().splitlines()
    pairs = [tuple(int(one, 16) for one in row.split()) for row in rows]
    return tuple(one[0] for one in pairs), tuple(one[1] for one in pairs)


@lru_cache(4096)
def _shown(char: str) -> bool:
    kind = unicodedata.category(char)
    if char in _SPACES or kind in _UNSHOWN or char == "\u00ad":
        return True
    if kind in _FORBIDDEN:
        return False
    firsts, lasts = _table()
    place = bisect_right(firsts, ord(char)) - 1
    return (place >= 0 and ord(char) <= lasts[place]) or 0xFE00 <= ord(char) <= 0xFE0F


def boxed(text: str) -> tuple[str, ...]:
    """Name the characters of *text* that a paper shows as a box, each once.

    Examples
    --------
    >>> boxed("Wherry \u5c71 \U0001f3b8"), [f"U+{ord(one):04X}" for one in boxed("\ue000 \u1200")]
    ((), ['U+E000', 'U+1200'])
    """
    if text.isascii():
        return ()
    return tuple(dict.fromkeys(char for char in _composed(text) if not _shown(char)))


def shown(text: str) -> str:
    """Write *text* with a box for each character that no typeface shows.

    Examples
    --------
    >>> shown("a\ue000b")
    'a\u25a1b'
    """
    if text.isascii():
        return text
    return "".join(char if _shown(char) else BOX for char in _composed(text))


def printable(text: str) -> str:
    """Write *text* as `shown` does, and let a line break within a long word."""
    return _LONG.sub(_breaking, shown(text))


def printable_value(value: object) -> object:
    """Make every text inside a plain value printable, but for names of the program's own."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {
            key: one
            if key in _NAMES and isinstance(one, str) and one.isascii()
            else printable_value(one)
            for key, one in value.items()
        }
    return [printable_value(one) for one in value] if isinstance(value, (list, tuple)) else value


def boxed_fields(value: object, field: str = "") -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each field inside a plain value whose text is printed with boxes, and for what."""
    if isinstance(value, str):
        if unshown := boxed(value):
            yield field, unshown
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield from boxed_fields(one, f"{field}.{key}" if field else str(key))
    elif isinstance(value, (list, tuple)):
        for one in value:
            yield from boxed_fields(one, field)


def named(chars: Sequence[str]) -> str:
    """Write characters with their codes, the first eight of them.

    Examples
    --------
    >>> named(["\u1200"])
    '\u1200 (U+1200)'
    """
    told = [
        f"{one} (U+{ord(one):04X})" if one.isprintable() else f"U+{ord(one):04X}"
        for one in chars[:8]
    ]
    return ", ".join(told) + (f" and {len(chars) - 8} more" if len(chars) > 8 else "")


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def _breaking(word: re.Match[str]) -> str:
    """Put places where a line may break into a long word, never before a combining mark."""
    out = []
    since = 0
    for char in word[0]:
        if since >= _STEP and unicodedata.category(char)[0] in "LNPS":
            out.append("\u200b")
            since = 0
        out.append(char)
        since += 1
    return "".join(out)
