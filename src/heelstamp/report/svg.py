"""The few SVG elements the drawings are made of, and the palette they share.

All drawings are in millimetres at the size of print, so that a font size of 2.9 is 8.2 pt. Every
text is escaped; every number is written with at most two decimals, so that equal input gives equal
bytes. Colours never stand alone: each meaning has a pattern, a letter or a label beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Literal

FONT = "'Source Sans 3'"  # quoted: a CSS name may not hold a word that begins with a digit
TEXT_MM = 2.9
"""Least size of letters: 2.9 mm, 8.2 pt."""

INK = "#23282b"
GREY = "#5d676d"  # 5.9:1 on white
RULE = "#b9c1c5"
FAINT = "#e6eaec"
BLUE = "#2f5d7c"
PALE_BLUE = "#a9c3d3"
AMBER = "#a8652a"
WHITE = "#ffffff"

Anchor = Literal["start", "middle", "end"]


def number(value: float) -> str:
    """Write a coordinate: two decimals, no trailing noughts, no minus nought."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def text(
    x: float,
    y: float,
    words: str,
    *,
    size: float = TEXT_MM,
    anchor: Anchor = "start",
    fill: str = INK,
    bold: bool = False,
    halo: bool = False,
) -> str:
    """Write words with their baseline at *y*; a halo keeps them legible on a pattern."""
    weight = ' font-weight="600"' if bold else ""
    common = (
        f'x="{number(x)}" y="{number(y)}" font-family="{FONT}" font-size="{number(size)}"'
        f'{weight} text-anchor="{anchor}"'
    )
    inside = escape(words)
    under = (
        f'<text {common} fill="{WHITE}" stroke="{WHITE}" stroke-width="1.3" '
        f'stroke-linejoin="round">{inside}</text>'
        if halo
        else ""
    )
    return f'{under}<text {common} fill="{fill}">{inside}</text>'


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    stroke: str = RULE,
    width: float = 0.2,
    dash: str = "",
) -> str:
    """Draw a straight line."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}" '
        f'stroke="{stroke}" stroke-width="{number(width)}"{dashes}/>'
    )


def rect(
    x: float,
    y: float,
    width: float,
    height: float,
    *,
    fill: str = "none",
    stroke: str = "none",
    stroke_width: float = 0.2,
    dash: str = "",
    radius: float = 0.0,
) -> str:
    """Draw a rectangle from its upper left corner."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}" '
        f'rx="{number(radius)}" fill="{fill}" stroke="{stroke}" '
        f'stroke-width="{number(stroke_width)}"{dashes}/>'
    )


def polygon(
    points: Iterable[tuple[float, float]],
    *,
    fill: str,
    stroke: str = INK,
    width: float = 0.2,
    dash: str = "",
) -> str:
    """Draw a closed polygon."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    told = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return (
        f'<polygon points="{told}" fill="{fill}" stroke="{stroke}" '
        f'stroke-width="{number(width)}" stroke-linejoin="round"{dashes}/>'
    )


def circle(x: float, y: float, radius: float, *, fill: str, stroke: str = "none") -> str:
    """Draw a circle."""
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="{fill}" '
        f'stroke="{stroke}" stroke-width="0.2"/>'
    )


def drawing(width: float, height: float, elements: Iterable[str]) -> str:
    """Put elements on a sheet of *width* by *height* mm."""
    size = f'width="{number(width)}mm" height="{number(height)}mm"'
    box = f'viewBox="0 0 {number(width)} {number(height)}"'
    body = "".join(elements)
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box}>{body}</svg>'
