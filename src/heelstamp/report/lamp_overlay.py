"""Regions and masks drawn over a photograph, to be zoomed with it: an SVG in the picture's pixels.

Regions are told apart by number and hatching, never by colour alone, in the patterns of the
printed pictures (``finish_drawing``): darker has rising strokes, brighter dots, another hue crossed
strokes, fading in level ones. What the eye does not see has a dashed line; a border by hand is a
double line beside the program's own; what is left open a dotted circle; what is set aside is a thin
dotted line without a pattern.
Line widths and letters are those of the screen (style sheet), so that a zoom does not thicken them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from heelstamp.casework.uv_lamp.regions import OpenPlace, RegionLine
from heelstamp.report.svg import number

CELL = 9.0
"""Side of a pattern's cell in pixels of the screen."""
SHOWN = 700.0
"""Pixels of the screen that the longer side takes where nothing else tells."""
_STROKES = {
    "darker": "M0,9 9,0M-2,2 2,-2M7,11 11,7",
    "brighter": "M4.5,4.5 4.5,4.5",
    "other hue": "M0,9 9,0M0,0 9,9",
    "gradual": "M0,4.5 9,4.5",
}

Polygon = Sequence[tuple[float, float]]


def overlay_svg(
    size: tuple[int, int],
    lines: Iterable[RegionLine],
    *,
    words: str,
    left_open: Iterable[OpenPlace] = (),
) -> str:
    """Draw the regions over a photograph of *size* pixels; *words* describe the drawing.

    What is left open has a dotted circle with its name, and no pattern.
    """
    unit = max(size) / SHOWN
    drawn = "".join(_open(one, unit) for one in left_open)
    drawn += "".join(_region(one, unit) for one in lines)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="found" viewBox="0 0 {size[0]} {size[1]}" '
        f'role="img" aria-label="{escape(words)}"><defs>{_patterns(unit)}</defs>{drawn}</svg>'
    )


def sample_svg(kind: str, *, visible: bool = True) -> str:
    """Draw a small sample of a kind's pattern for a row of the list."""
    seen = "" if visible else " unseen-by-eye"
    cells = "".join(
        f'<path d="{_STROKES[kind]}" transform="translate({number(x * CELL)} {number(y * CELL)})"/>'
        for x in range(4)
        for y in range(2)
    )
    return (
        '<svg class="sample" viewBox="0 0 36 18" width="36" height="18" aria-hidden="true">'
        f'<g class="hatch {_name(kind)}">{cells}</g>'
        f'<rect x="1" y="1" width="34" height="16" class="line{seen}"/></svg>'
    )


def _open(one: OpenPlace, unit: float) -> str:
    x, y = one.centre
    reach = one.reach + 4.0 * unit
    ring = f'cx="{number(x)}" cy="{number(y)}" r="{number(reach)}"'
    place = f'transform="translate({number(x - 0.75 * reach)} {number(y - 0.75 * reach)})"'
    return (
        f'<g class="region left-open"><title>left open {escape(one.label)}</title>'
        f'<circle {ring} class="halo"/><circle {ring} class="line left-open"/>'
        f'<g class="number" {place}><circle r="1"/>'
        f'<text text-anchor="middle">{escape(one.label)}</text></g></g>'
    )


def _region(one: RegionLine, unit: float) -> str:
    kind, aside = one.row.kind, one.said.aside
    seen = "" if one.visible else " unseen-by-eye"
    label = f"region {one.row.number}"
    x, y = one.centre
    parts = [f'<g class="region{" aside" if aside else ""}" data-region="{one.row.number}">']
    if not aside:
        parts.append(f'<polygon points="{_points(one.border)}" fill="url(#hatch-{_name(kind)})"/>')
    parts.append(f'<polygon points="{_points(one.polygon)}" class="halo"/>')
    parts.append(f'<polygon points="{_points(one.polygon)}" class="line{seen}"/>')
    if one.said.border is not None:
        parts.append(f'<polygon points="{_points(one.border)}" class="halo by-hand"/>')
        parts.append(f'<polygon points="{_points(one.border)}" class="line by-hand"/>')
    x, y = _label_at(one.border, (x, y), 10.0 * unit)
    place = f'transform="translate({number(x)} {number(y)})"'
    parts.append(
        f'<g class="number" {place}><title>{label}</title><circle r="1"/>'
        f'<text text-anchor="middle">{one.row.number}</text></g></g>'
    )
    return "".join(parts)


def _label_at(polygon: Polygon, centre: tuple[float, float], away: float) -> tuple[float, float]:
    """Put the number beside the region, up and left of it, so that it hides nothing."""
    left = min(polygon, key=lambda point: point[0] + point[1], default=centre)
    return left[0] - away, left[1] - away


def _patterns(unit: float) -> str:
    return "".join(
        f'<pattern id="hatch-{_name(kind)}" width="{number(CELL)}" height="{number(CELL)}" '
        f'patternUnits="userSpaceOnUse" patternTransform="scale({number(unit)})">'
        f'<g class="hatch {_name(kind)}"><path d="{path}"/></g></pattern>'
        for kind, path in _STROKES.items()
    )


def _points(polygon: Polygon) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in polygon)


def _name(kind: str) -> str:
    return kind.replace(" ", "-")
