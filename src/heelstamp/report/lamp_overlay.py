"""Regions and masks drawn over a photograph, to be zoomed with it: an SVG in the picture's pixels.

Regions are told apart by number and hatching, never by colour alone, in the patterns of the
printed pictures (``finish_drawing``): darker has rising strokes, brighter dots, another hue crossed
strokes, fading in level ones. What the eye does not see has a dashed line; a border by hand is a
double line beside the program's own; what is set aside is a thin dotted line without a pattern.
Line widths and letters are those of the screen (style sheet), so that a zoom does not thicken them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from heelstamp.casework.bench.lamp_regions import RegionLine
from heelstamp.report.svg import number

STEP = 110.0
"""A pattern repeats this often along the longer side of the picture."""
_STROKES = {
    "darker": ("M0,1 1,0",), "brighter": ("M.5,.5 .5,.5",), "other hue": ("M0,1 1,0", "M0,0 1,1"),
    "gradual": ("M0,.5 1,.5",),
}  # fmt: skip

Polygon = Sequence[tuple[float, float]]


def overlay_svg(size: tuple[int, int], lines: Iterable[RegionLine], *, words: str) -> str:
    """Draw the regions over a photograph of *size* pixels; *words* describe the drawing."""
    cell = max(size) / STEP
    drawn = "".join(_region(one, cell) for one in lines)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="found" viewBox="0 0 {size[0]} {size[1]}" '
        f'role="img" aria-label="{escape(words)}"><defs>{_patterns(cell)}</defs>{drawn}</svg>'
    )


def sample_svg(kind: str, *, visible: bool = True) -> str:
    """Draw a small sample of a kind's pattern for a row of the list."""
    cell, seen = 7.0, "" if visible else " unseen-by-eye"
    stripes = "".join(
        f'<path d="{_scaled(one, cell, x, y)}"/>'
        for one in _STROKES[kind] for x in range(5) for y in range(3)
    )  # fmt: skip
    return (
        '<svg class="sample" viewBox="0 0 35 21" width="35" height="21" aria-hidden="true">'
        f'<g class="hatch {_name(kind)}">{stripes}</g>'
        f'<rect x="1" y="1" width="33" height="19" class="line{seen}"/></svg>'
    )


def _region(one: RegionLine, cell: float) -> str:
    kind, aside = one.row.kind, one.said.aside
    seen = "" if one.visible else " unseen-by-eye"
    label = f"region {one.row.number}"
    x, y = one.centre
    parts = [f'<g class="region{" aside" if aside else ""}" data-region="{one.row.number}">']
    if not aside:
        parts.append(
            f'<polygon points="{_points(one.border)}" fill="url(#hatch-{_name(kind)})"/>'
        )  # fmt: skip
    parts.append(f'<polygon points="{_points(one.polygon)}" class="halo"/>')
    parts.append(f'<polygon points="{_points(one.polygon)}" class="line{seen}"/>')
    if one.said.border is not None:
        parts.append(f'<polygon points="{_points(one.border)}" class="halo by-hand"/>')
        parts.append(f'<polygon points="{_points(one.border)}" class="line by-hand"/>')
    x, y = _label_at(one.border, (x, y), cell)
    place = f'transform="translate({number(x)} {number(y)})"'
    parts.append(
        f'<g class="number" {place}><title>{label}</title><circle r="1"/>'
        f'<text text-anchor="middle">{one.row.number}</text></g></g>'
    )
    return "".join(parts)


def _label_at(
    polygon: Polygon, centre: tuple[float, float], cell: float
) -> tuple[float, float]:  # fmt: skip
    """Put the number beside the region, up and left of it, so that it hides nothing."""
    left = min(polygon, key=lambda point: point[0] + point[1], default=centre)
    return left[0] - cell, left[1] - cell


def _patterns(cell: float) -> str:
    drawn = []
    for kind, strokes in _STROKES.items():
        paths = "".join(f'<path d="{_scaled(one, cell, 0, 0)}"/>' for one in strokes)
        drawn.append(
            f'<pattern id="hatch-{_name(kind)}" width="{number(cell)}" height="{number(cell)}" '
            f'patternUnits="userSpaceOnUse"><g class="hatch {_name(kind)}">{paths}</g></pattern>'
        )
    return "".join(drawn)


def _scaled(path: str, cell: float, column: int, row: int) -> str:
    pairs = path.removeprefix("M").split(" ")
    points = [tuple(float(one) for one in pair.split(",")) for pair in pairs]
    told = [
        f"{number((x + column) * cell)},{number((y + row) * cell)}" for x, y in points
    ]  # fmt: skip
    return "M" + " ".join(told)


def _points(polygon: Polygon) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in polygon)


def _name(kind: str) -> str:
    return kind.replace(" ", "-")
