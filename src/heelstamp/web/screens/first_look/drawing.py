"""The instrument to touch: every part a link, filled with the pattern of how far it was looked at.

Four pieces (head, front, back, inside) stand side by side, each at its own scale, so that a knuckle
finds a tuner; on a narrow screen they are drawn past one another. Inside shows what lies under the
guard and in the neck pocket, with both dashed around it. A wide unseen edge around each part
makes its target larger than its picture. What a pattern means stands in the legend in words, and
the list of parts beside the drawing says the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from itertools import chain
from urllib.parse import quote

from heelstamp.errors import InputError
from heelstamp.report import svg
from heelstamp.report.geometry import BUILDS, Region, outline, regions
from heelstamp.web.paths import screen_path
from heelstamp.web.screens.first_look.zones import Looking, Zone

PIECES = ("head", "front", "back", "inside")
EDGE = 10.0
CAPTION = 0.04
"""Size of a piece's name, as a share of its height."""
REACH = 4.0
"""Width of the unseen edge around a part, mm of the instrument."""

FILLS: Mapping[Looking, str] = {
    "looked at": svg.PALE_BLUE,
    "partly looked at": "url(#half)",
    "not looked at": svg.WHITE,
    "absent": "url(#cross-lines)",
    "illegible": "url(#ripple)",
    "not applicable": svg.FAINT,
    "not asked": svg.WHITE,
}
_PATTERNS = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="patterns" aria-hidden="true" width="0" '
    'height="0"><defs><pattern id="half" width="8" height="8" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><rect width="8" height="8" fill="{svg.WHITE}"/>'
    f'<rect width="3.4" height="8" fill="{svg.PALE_BLUE}"/></pattern>'
    '<pattern id="cross-lines" width="7" height="7" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><rect width="7" height="7" fill="{svg.WHITE}"/>'
    f'<path d="M0 3.5H7M3.5 0V7" stroke="{svg.AMBER}" stroke-width="1"/></pattern>'
    '<pattern id="ripple" width="10" height="8" patternUnits="userSpaceOnUse">'
    f'<rect width="10" height="8" fill="{svg.WHITE}"/><path d="M0 4L2.5 1.5L7.5 6.5L10 4" '
    f'fill="none" stroke="{svg.GREY}" stroke-width="1.1"/></pattern></defs></svg>'
)


def touch_drawing(kind: str, zones: Sequence[Zone], tag: str, chosen: str) -> tuple[str, ...]:
    """Draw head, front, back and inside; nothing for a kind of which there is no drawing.

    Parameters
    ----------
    kind
        Kind of instrument.
    zones
        The parts and how far each was looked at.
    tag
        Dossier that the links lead into.
    chosen
        Key of the part that is being asked about, or empty.
    """
    if kind not in BUILDS:
        return ()
    known = {zone.key: zone for zone in zones}
    return (_PATTERNS, *(_piece(piece, kind, known, tag, chosen) for piece in PIECES))


def _piece(piece: str, kind: str, known: Mapping[str, Zone], tag: str, chosen: str) -> str:
    shown = _shown(kind, piece)
    around = _openings(kind) if piece == "inside" else ()
    x0, y0, x1, y1 = _bounds([*shown, *around])
    size = CAPTION * (y1 - y0)
    y0 -= 1.2 * size
    parts = [_polygon(one, svg.WHITE) for one in around]
    parts.append(
        f'<text x="{svg.number(x0 + 2)}" y="{svg.number(y0 + size)}" '
        f'font-size="{svg.number(size)}" fill="{svg.GREY}" aria-hidden="true">{piece}</text>'
    )
    for key in dict.fromkeys(region.key for region in shown):
        own = [region for region in shown if region.key == key]
        parts.append(_part(own, known.get(key), tag, chosen == key))
    box = " ".join(svg.number(v) for v in (x0, y0, x1 - x0, y1 - y0))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="touch" role="group" '
        f'aria-label="{piece.capitalize()}; each part is a link" viewBox="{box}">'
        f"{''.join(parts)}</svg>"
    )


def _shown(kind: str, piece: str) -> list[Region]:
    """The regions of a piece; the back is turned over, as it is seen.

    What lies covered is inside, seen from the front.
    """
    if piece == "inside":
        return [_lifted(region) for region in regions(kind) if region.covered]
    nut = -BUILDS[kind].scale_mm
    if piece == "head":
        return [
            region
            for region in regions(kind)
            if region.view == "front" and max(y for _, y in region.polygon) < nut + 30
        ]
    body_top = min(y for _, y in outline(kind)["body"]) - 30
    found = []
    for region in regions(kind):
        if region.view != piece or region.covered or max(y for _, y in region.polygon) < body_top:
            continue
        polygon = [(x, max(y, body_top)) for x, y in region.polygon]
        if piece == "back":
            polygon = [(-x, y) for x, y in polygon]
        found.append(Region(region.key, region.view, tuple(polygon), region.covered))
    return found


def _lifted(region: Region) -> Region:
    """A covered region as it is seen from the front with its cover off."""
    turned = -1 if region.view == "back" else 1
    polygon = tuple((turned * x, y) for x, y in region.polygon)
    return Region(region.key, "front", polygon, covered=False)


def _openings(kind: str) -> tuple[Region, ...]:
    """The outlines of guard and neck pocket, dashed."""
    guard = next(region for region in regions(kind) if region.key == "guard")
    plate = next(region for region in regions(kind) if region.key == "neck_plate")
    left, right = (edge(x for x, _ in plate.polygon) for edge in (min, max))
    top, heel = (edge(y for _, y in plate.polygon) for edge in (min, max))
    pocket = ((left, top), (right, top), (right, heel), (left, heel))
    return tuple(Region("", "front", one, covered=True) for one in (guard.polygon, pocket))


def _bounds(shown: Iterable[Region]) -> tuple[float, float, float, float]:
    points = list(chain.from_iterable(region.polygon for region in shown))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs) - EDGE, min(ys) - EDGE, max(xs) + EDGE, max(ys) + EDGE


def _part(own: Sequence[Region], zone: Zone | None, tag: str, chosen: bool) -> str:
    fill = svg.WHITE if zone is None else FILLS[zone.looking]
    shapes = "".join(_polygon(region, fill) for region in own)
    if zone is None:
        return shapes
    large = own[0].key in {"body", "neck", "guard"}
    targets = "" if large else "".join(_target(region) for region in own)
    words = escape(f"{zone.label}: {zone.looking}", quote=True)
    path = f"{screen_path(quote(tag), 'first-look')}?part={quote(zone.key)}"
    current = ' aria-current="true"' if chosen else ""
    return (
        f'<a class="zone" href="{path}" data-part="{escape(zone.key, quote=True)}" '
        f'data-in-place="part" aria-label="{words}"{current}>'
        f"<title>{words}</title>{shapes}{targets}</a>"
    )


def _points(region: Region) -> str:
    return " ".join(f"{svg.number(x)},{svg.number(y)}" for x, y in region.polygon)


def _polygon(region: Region, fill: str) -> str:
    dash = ' stroke-dasharray="4 2.5"' if region.covered else ""
    return (
        f'<polygon points="{_points(region)}" fill="{fill}" stroke="{svg.INK}" stroke-width="1" '
        f'vector-effect="non-scaling-stroke" stroke-linejoin="round"{dash}/>'
    )


def _target(region: Region) -> str:
    return (
        f'<polygon class="reach" points="{_points(region)}" fill="transparent" '
        f'stroke="transparent" stroke-width="{svg.number(2 * REACH)}"/>'
    )


def still_drawing(kind: str, piece: str, wide: int) -> tuple[str, int]:
    """Draw one piece alone, as a picture to tap places on, and give its height.

    Parameters
    ----------
    piece
        ``front`` or ``back``.
    wide
        Width in pixels.

    Raises
    ------
    InputError
        There is no drawing of this kind of instrument.
    """
    if kind not in BUILDS:
        raise InputError(
            "no drawing of this kind", received=kind, remedy="Take a photograph of the screws."
        )
    shown = _shown(kind, piece)
    x0, y0, x1, y1 = _bounds(shown)
    tall = round(wide * (y1 - y0) / (x1 - x0))
    box = " ".join(svg.number(v) for v in (x0, y0, x1 - x0, y1 - y0))
    shapes = "".join(_polygon(region, svg.WHITE) for region in shown)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{wide}" '
        f'height="{tall}"><rect x="{svg.number(x0)}" y="{svg.number(y0)}" width="100%" '
        f'height="100%" fill="{svg.FAINT}"/>{shapes}</svg>'
    ), tall
