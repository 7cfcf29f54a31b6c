"""Front and back of the instrument with every part numbered and its state as pattern and letter.

Numbers key the drawing to the table of parts. A state is told twice, by the pattern that fills the
part and by the letter beside its number; parts under a cover are dashed. Geometry comes from
``heelstamp.report.geometry`` in mm at full size; the drawing is in mm of print. It shows a kind of
instrument, not the one examined: proportions carry no evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.report import svg
from heelstamp.report.geometry import Polygon, Region, View, outline, regions
from heelstamp.wording.about_parts import VERDICT_WORDS, Verdict

WIDTH_MM = 166.0
VIEW_MM = 150.0
"""Height of the tallest view."""
HEAD_MM = 7.0
LEGEND_ROW_MM = 6.0
SPACING_MM = 4.9
_BACK_KEYS = frozenset({"body", "neck", "neck_plate", "plate_screws", "shim"})

LETTERS: Mapping[Verdict, str] = {
    "original": "O",
    "period-correct": "P",
    "later": "L",
    "from another": "A",
    "not determined": "?",
    "not examined": "N",
    "assumed": "T",
    "first finish": "O",
    "first finish, touched or not": "O",
    "touched up": "U",
    "refinished": "R",
    "replaced": "X",
    "not settled": "S",
    "not judged": "–",
}
LEGEND: Mapping[Verdict, str] = {
    "original": "original, as far as examined",
    "period-correct": "period-correct, first fitting not determined",
    "later": "later replacement",
    "from another": VERDICT_WORDS["from another"],
    "replaced": "replaced, the kind not determined",
    "not determined": "not determined",
    "not settled": "not settled: another assumption, other words",
    "not examined": "not examined",
    "not judged": "seen, not judged by the chronology",
    "assumed": VERDICT_WORDS["assumed"],
}
_FILLS: Mapping[Verdict, str] = {
    "original": svg.PALE_BLUE,
    "period-correct": "url(#dots)",
    "later": "url(#hatch)",
    "from another": "url(#cross)",
    "replaced": "url(#slant)",
    "not determined": "url(#bars)",
    "not settled": "url(#waves)",
    "not examined": svg.WHITE,
    "assumed": svg.FAINT,
    "not judged": "url(#grid)",
}

_PATTERNS = (
    '<defs><pattern id="dots" width="1.1" height="1.1" patternUnits="userSpaceOnUse">'
    f'<rect width="1.1" height="1.1" fill="#fff"/>'
    f'<circle cx="0.55" cy="0.55" r="0.24" fill="{svg.BLUE}"/></pattern>'
    '<pattern id="hatch" width="1" height="1" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1" height="1" fill="#fff"/>'
    f'<rect width="0.42" height="1" fill="{svg.AMBER}"/></pattern>'
    '<pattern id="slant" width="1.8" height="1.8" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(-45)"><rect width="1.8" height="1.8" fill="#fff"/>'
    f'<rect width="0.35" height="1.8" fill="{svg.AMBER}"/></pattern>'
    '<pattern id="grid" width="1.6" height="1.6" patternUnits="userSpaceOnUse">'
    '<rect width="1.6" height="1.6" fill="#fff"/>'
    f'<rect width="0.2" height="1.6" fill="{svg.GREY}"/></pattern>'
    '<pattern id="cross" width="1.3" height="1.3" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1.3" height="1.3" fill="#fff"/>'
    f'<rect width="0.4" height="1.3" fill="{svg.AMBER}"/>'
    f'<rect width="1.3" height="0.4" fill="{svg.AMBER}"/></pattern>'
    '<pattern id="waves" width="1.6" height="1.6" patternUnits="userSpaceOnUse">'
    '<rect width="1.6" height="1.6" fill="#fff"/>'
    f'<path d="M0 0.8 L0.4 0.4 L1.2 1.2 L1.6 0.8" fill="none" stroke="{svg.BLUE}" '
    'stroke-width="0.22"/></pattern>'
    '<pattern id="bars" width="1" height="1.3" patternUnits="userSpaceOnUse">'
    '<rect width="1" height="1.3" fill="#fff"/>'
    f'<rect width="1" height="0.3" fill="{svg.GREY}"/></pattern></defs>'
)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a view stands on the sheet: ``x = middle + sign * scale * mm``."""

    view: View
    middle: float
    top: float
    scale: float

    def place(self, x: float, y: float) -> tuple[float, float]:
        sign = 1 if self.view == "front" else -1
        return self.middle + sign * self.scale * x, self.top + self.scale * y


@dataclass(slots=True)
class _Callout:
    row: PartRow
    at: tuple[float, float]
    left: bool
    upper: bool
    y: float


def _frames(kind: str) -> tuple[_Frame, _Frame]:
    shapes = outline(kind)
    ys = [y for polygon in shapes.values() for _, y in polygon]
    low, high = min(ys), max(ys)
    scale = VIEW_MM / (high - low)
    top = HEAD_MM + 2.0 - low * scale
    return (
        _Frame("front", WIDTH_MM * 0.255, top, scale),
        _Frame("back", WIDTH_MM * 0.742, top, scale),
    )


def drawn_keys(kind: str) -> frozenset[str]:
    """Name the parts that have a region on the drawing."""
    return frozenset(region.key for region in regions(kind))


def drawing_svg(kind: str, rows: Sequence[PartRow]) -> str:
    """Draw front and back, 166 mm wide, with callouts for every part of *rows* that has a region.

    Raises
    ------
    InputError
        There is no drawing of that kind of instrument.
    """
    by_key = {row.key: row for row in rows}
    elements = [_PATTERNS]
    for frame in _frames(kind):
        name = "Front" if frame.view == "front" else "Back"
        elements.append(
            svg.text(frame.middle, 3.4, name, anchor="middle", bold=True, fill=svg.GREY)
        )
        shown = [region for region in regions(kind) if region.view == frame.view]
        elements += [_region(region, by_key.get(region.key), frame) for region in shown]
        elements += _callouts(kind, frame, shown, by_key)
    elements += _legend(rows)
    return svg.drawing(WIDTH_MM, height_of(rows), elements)


def height_of(rows: Sequence[PartRow]) -> float:
    """The height of the drawing in mm."""
    return HEAD_MM + VIEW_MM + 9.0 + LEGEND_ROW_MM * ((len(_told(rows)) + 2) // 2)


def _told(rows: Sequence[PartRow]) -> list[Verdict]:
    there = {row.verdict for row in rows}
    return [verdict for verdict in LEGEND if verdict in there]


def _region(region: Region, row: PartRow | None, frame: _Frame) -> str:
    fill = svg.WHITE if row is None else _FILLS.get(row.verdict, svg.WHITE)
    if region.key in ("body", "guard", "neck") and row is not None:
        # large areas stay light, so that the parts on them can be told apart
        fill = {svg.PALE_BLUE: "#e3edf3", svg.FAINT: "#f4f6f7"}.get(fill, fill)
    return svg.polygon(
        (frame.place(x, y) for x, y in region.polygon),
        fill="none" if region.covered and row is None else fill,
        width=0.28 if region.key in ("body", "neck") else 0.18,
        dash="0.8 0.5" if region.covered else "",
    )


def _anchor(key: str, polygons: Iterable[Polygon], frame: _Frame) -> tuple[float, float]:
    """The point a callout leads to: the middle of the part's most telling polygon."""
    shapes = list(polygons)
    if key == "body":
        return frame.place(-60.0, 90.0)
    if key == "guard":
        return frame.place(72.0, -150.0)
    if key == "neck":
        shape = shapes[-1]
        ys = [y for _, y in shape]
        return frame.place(0.0, min(ys) + 0.5 * (max(ys) - min(ys)))
    if key.startswith("pot_"):  # its middle lies under the knob
        return frame.place(max(x for x, _ in shapes[0]) - 2.5, shapes[0][0][1])
    if key == "frets":
        shape = shapes[6]
        return frame.place(*max(shape))
    chosen = shapes[1] if key.startswith("tuner_") else shapes[0]
    count = len(chosen)
    return frame.place(sum(x for x, _ in chosen) / count, sum(y for _, y in chosen) / count)


def _callouts(
    kind: str, frame: _Frame, shown: Sequence[Region], by_key: Mapping[str, PartRow]
) -> list[str]:
    body = outline(kind)["body"]
    horn = frame.place(0.0, min(y for _, y in body))[1]
    half = frame.scale * max(abs(x) for x, _ in body)
    keys = dict.fromkeys(region.key for region in shown)
    callouts = []
    for key in keys:
        row = by_key.get(key)
        home: View = "back" if key in _BACK_KEYS else "front"
        if row is None or home != frame.view:
            continue
        at = _anchor(key, (region.polygon for region in shown if region.key == key), frame)
        callouts.append(_Callout(row, at, at[0] < frame.middle - 0.5, at[1] < horn - 2.0, at[1]))
    _balance(callouts, frame.middle)
    elements: list[str] = []
    for upper in (True, False):
        for left in (True, False):
            group = [one for one in callouts if one.upper is upper and one.left is left]
            _spread(group)
            reach = 16.5 if upper else half + 4.0
            edge = frame.middle + (-reach if left else reach)
            for one in group:
                elements += _callout(one, edge)
    return elements


def _balance(callouts: Sequence[_Callout], middle: float) -> None:
    """Send callouts of parts on the middle line to the side that has fewer."""
    for upper in (True, False):
        group = [one for one in callouts if one.upper is upper]
        central = [one for one in group if abs(one.at[0] - middle) <= 0.5]
        aside = [one for one in group if abs(one.at[0] - middle) > 0.5]
        lefts = sum(one.left for one in aside)
        rights = len(aside) - lefts
        for one in sorted(central, key=lambda c: c.at[1]):
            one.left = lefts <= rights
            lefts, rights = lefts + one.left, rights + (not one.left)


def _spread(group: list[_Callout]) -> None:
    """Move callouts of one column apart, as little as their order allows."""
    group.sort(key=lambda one: one.at[1])
    for _ in range(60):
        moved = False
        for above, below in pairwise(group):
            short = SPACING_MM - (below.y - above.y)
            if short > 0.01:
                above.y -= short / 2
                below.y += short / 2
                moved = True
        if not moved:
            return


def _callout(one: _Callout, edge: float) -> list[str]:
    sign = -1 if one.left else 1
    x, y = edge, one.y
    letter = LETTERS[one.row.verdict]
    swatch = _FILLS.get(one.row.verdict, svg.WHITE)
    box_x = x + sign * 0.6 - (4.0 if one.left else 0.0)
    number_x = box_x - 0.9 if one.left else box_x + 4.9
    return [
        svg.line(one.at[0], one.at[1], x, y, stroke=svg.GREY, width=0.15),
        svg.circle(one.at[0], one.at[1], 0.42, fill=svg.INK),
        svg.rect(box_x, y - 2.0, 4.0, 4.0, fill=swatch, stroke=svg.GREY, stroke_width=0.15),
        svg.text(box_x + 2.0, y + 1.02, letter, anchor="middle", bold=True, halo=True),
        svg.text(
            number_x,
            y + 1.02,
            str(one.row.number),
            anchor="end" if one.left else "start",
            bold=True,
        ),
    ]


def _legend(rows: Sequence[PartRow]) -> list[str]:
    top = HEAD_MM + VIEW_MM + 8.5
    elements = []
    entries: list[tuple[str, str, str, str]] = [
        (_FILLS[verdict], LETTERS[verdict], LEGEND[verdict], "") for verdict in _told(rows)
    ]
    entries.append((svg.WHITE, "", "dashed outline: under a cover", "0.8 0.5"))
    for index, (fill, letter, words, dash) in enumerate(entries):
        x = (index % 2) * WIDTH_MM / 2
        y = top + (index // 2) * LEGEND_ROW_MM
        elements.append(
            svg.rect(x, y - 2.0, 4.0, 4.0, fill=fill, stroke=svg.GREY, dash=dash, stroke_width=0.2)
        )
        if letter:
            elements.append(
                svg.text(x + 2.0, y + 1.02, letter, anchor="middle", bold=True, halo=True)
            )
        elements.append(svg.text(x + 6.0, y + 1.02, words))
    return elements


def drawing_alt(rows: Sequence[PartRow], kind: str) -> str:
    """Describe the drawing for a reader who cannot see it."""
    keys = drawn_keys(kind)
    told = "; ".join(f"{row.number} {row.label}: {row.verdict}" for row in rows if row.key in keys)
    return (
        f"Front and back of a {kind} with numbered parts, each filled with the pattern of its "
        f"state. {told}."
    )
