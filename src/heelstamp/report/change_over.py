"""The picture of a change-over: the curve, what was seen, and each instrument of the census.

The curve rises where the new variant takes over; its height is the share of instruments as built
that have it. Instruments with the new variant lie above, those with the old one below, each as a
line over its dated range with its middle: full circles are new, open ones old, and crosses are
instruments that teach nothing; a diamond with its name is the one being weighed. The two months in
which the change was seen stand as lines with their words. A curve of another edition is dashed.
Instruments beyond the axis are counted at its edge; where there is no room for all, those nearest
to the change are drawn and the others counted.
The drawing is narrow, so that its words can be read on a telephone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.chronology.change_view import CensusPoint, ChangeCurve, ChangeView
from heelstamp.report import svg
from heelstamp.units import Month, name_month
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.wording import percent

WIDTH_MM = 106.0
LEFT_MM, RIGHT_MM = 11.0, 104.0
PLOT_MM = 30.0
SIZE = 3.3
"""Size of the letters, mm."""

GAP_MM = 5.0
LINE_MM = 4.6
"""Between lines of words."""

NAMED = 6
"""Up to so many instruments on a side carry their names."""
NAMED_MM, BARE_MM = 4.4, 1.9
MOST_ROWS = 24
SHARE = "share of instruments as built, by month of completion"


@dataclass(frozen=True, slots=True)
class _Axis:
    first: Month
    last: Month

    def x(self, month: float) -> float:
        step = (RIGHT_MM - LEFT_MM) / (self.last - self.first + 1)
        return min(max(LEFT_MM + (month - self.first) * step, LEFT_MM), RIGHT_MM)


@dataclass(frozen=True, slots=True)
class _Side:
    """Instruments of one side: those drawn, nearest to the plot first, and those counted."""

    drawn: tuple[CensusPoint, ...]
    earlier: int
    later: int
    left_out: int

    @property
    def step(self) -> float:
        return NAMED_MM if len(self.drawn) <= NAMED else BARE_MM

    @property
    def height(self) -> float:
        counted = LINE_MM if self.earlier or self.later or self.left_out else 0.0
        return self.step * len(self.drawn) + counted


def change_over_svg(view: ChangeView) -> str:
    """Draw all change-overs of a feature, one below the other, 106 mm wide."""
    parts: list[str] = []
    top = 0.0
    for curve in view.changes:
        drawn, height = _panel(curve, top)
        parts += drawn
        top += height + GAP_MM
    return svg.drawing(WIDTH_MM, max(top - GAP_MM, 1.0), parts)


def change_over_alt(view: ChangeView) -> str:
    """Describe the picture for a reader who cannot see it."""
    return " ".join(f"{view.name}: {_described(one)}" for one in view.changes)


def _panel(curve: ChangeCurve, top: float) -> tuple[list[str], float]:
    axis = _Axis(curve.first, curve.last)
    news = _side(curve.news, axis, earliest_first=True)
    olds = _side(curve.olds, axis, earliest_first=False)
    head = top + 4.2
    high = head + 2.6 + LINE_MM + news.height + 1.2
    base = high + PLOT_MM
    tail = base + 1.2 + olds.height
    (above,) = _counted(curve.news, "above", curve.new) or (SHARE,)
    parts = [
        svg.text(0, head, _short(f"{curve.old} → {curve.new}", 58), size=SIZE, bold=True),
        svg.text(0, head + LINE_MM, _short(above, 74), size=SIZE, fill=svg.GREY),
    ]
    parts += _years(axis, head + LINE_MM + 1.4, tail)
    parts += _window(curve, axis, high, base)
    parts += _curve(curve, axis, high, base)
    parts += _instruments(news, axis, high - 1.2, -1)
    parts += _instruments(olds, axis, base + 1.2, 1)
    below = tail + 5.0
    parts += _year_words(axis, below)
    lines = [*_counted(curve.olds, "below", curve.old), *_seen(curve)]
    for place, words in enumerate(lines):
        y = below + LINE_MM * (place + 1) + 0.6
        parts.append(svg.text(0, y, _short(words, 74), size=SIZE, fill=svg.GREY))
    return parts, below + LINE_MM * len(lines) + 2.0 - top


def _counted(points: Sequence[CensusPoint], where: str, variant: str) -> list[str]:
    return [f"{where} ({len(points)}): {variant}"] if points else []


def _seen(curve: ChangeCurve) -> list[str]:
    first, last = name_month(curve.first_new), name_month(curve.last_old)
    told = f"1 first seen {first}; 2 last old seen {last}"
    if curve.passing:
        told = f"1 first seen {first}; 2 last seen {last}"
    lines = [told]
    if curve.learned_from is not None:
        half = "" if curve.centre_90 is None else f"; half-way {curve.centre_90} (90 %)"
        lines.append(f"learned from {curve.learned_from} looks{half}")
    if curve.before:
        lines.append("dashed: the edition before")
    return lines


def _years(axis: _Axis, top: float, bottom: float) -> list[str]:
    return [
        svg.line(axis.x(month), top, axis.x(month), bottom, width=0.12, dash="0.6 0.9")
        for month in range(axis.first, axis.last + 1)
        if month % MONTHS_A_YEAR == 0
    ]


def _year_words(axis: _Axis, y: float) -> list[str]:
    years = [m for m in range(axis.first, axis.last + 1) if m % MONTHS_A_YEAR == 0]
    every = -(-len(years) // 9)
    return [
        svg.text(
            axis.x(month), y, str(month // MONTHS_A_YEAR), size=SIZE, anchor="middle", fill=svg.GREY
        )
        for month in years[::every]
        if LEFT_MM + 3 < axis.x(month) < RIGHT_MM - 3
    ]


def _window(curve: ChangeCurve, axis: _Axis, high: float, base: float) -> list[str]:
    """Mark the two months in which it was seen, 1 with a full line and 2 with a dashed one.

    The earlier carries its figure above on the left, the later below on the right, where the curve
    of a change-over is not.
    """
    parts = []
    ends = ((curve.first_new, "1", ""), (curve.last_old, "2", "1.2 0.8"))
    first_is_left = curve.first_new <= curve.last_old
    for month, name, dash in ends:
        if not axis.first <= month <= axis.last:
            continue
        x = axis.x(month + 0.5)
        parts.append(svg.line(x, high, x, base, stroke=svg.AMBER, width=0.35, dash=dash))
        left = (name == "1") == first_is_left
        y = high + 3.6 if left or curve.passing else base - 1.3
        parts.append(
            svg.text(
                x - 0.8 if left else x + 0.8,
                y,
                name,
                size=SIZE,
                fill=svg.AMBER,
                bold=True,
                anchor="end" if left else "start",
                halo=True,
            )
        )
    return parts


def _curve(curve: ChangeCurve, axis: _Axis, high: float, base: float) -> list[str]:
    def places(values: Sequence[float]) -> list[tuple[float, float]]:
        return [
            (axis.x(curve.first + k + 0.5), base - PLOT_MM * value)
            for k, value in enumerate(values)
        ]

    parts = [
        svg.text(LEFT_MM - 1.2, y + 1.1, word, size=SIZE, anchor="end", fill=svg.GREY)
        for y, word in ((high, "100"), ((high + base) / 2, "50"), (base, "0 %"))
    ]
    parts.append(svg.line(LEFT_MM, (high + base) / 2, RIGHT_MM, (high + base) / 2, stroke=svg.RULE))
    parts.append(svg.line(LEFT_MM, high, RIGHT_MM, high, stroke=svg.RULE))
    if curve.before:
        parts.append(_path(places(curve.before), svg.GREY, 0.5, "1.6 1.1"))
    parts.append(_path(places(curve.values), svg.BLUE, 0.8))
    parts.append(svg.line(LEFT_MM, base, RIGHT_MM, base, stroke=svg.INK, width=0.25))
    return parts


def _path(places: Sequence[tuple[float, float]], stroke: str, width: float, dash: str = "") -> str:
    points = " ".join(f"{svg.number(x)},{svg.number(y)}" for x, y in places)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{stroke}" '
        f'stroke-width="{svg.number(width)}" stroke-linejoin="round"{dashes}/>'
    )


def _side(points: Sequence[CensusPoint], axis: _Axis, *, earliest_first: bool) -> _Side:
    """Choose what is drawn: on the axis, the nearest to the change first."""
    inside = [one for one in points if axis.first <= one.median <= axis.last]
    inside.sort(
        key=lambda one: (not one.here, one.median if earliest_first else -one.median, one.id)
    )
    return _Side(
        tuple(inside[:MOST_ROWS]),
        sum(one.median < axis.first for one in points),
        sum(one.median > axis.last for one in points),
        max(0, len(inside) - MOST_ROWS),
    )


def _instruments(side: _Side, axis: _Axis, edge: float, down: int) -> list[str]:
    """Draw one side from the plot's *edge* outwards."""
    parts = []
    for place, one in enumerate(side.drawn):
        y = edge + down * side.step * (place + 0.5)
        parts += _instrument(one, axis, y, full=down < 0)
        if side.step == NAMED_MM or one.here:
            x = axis.x(one.months.last + 1) + 1.2
            anchor: svg.Anchor = "start"
            if x + 1.9 * len(one.id) > RIGHT_MM:
                x, anchor = axis.x(one.months.first) - 1.2, "end"
            parts.append(
                svg.text(x, y + 1.1, _short(one.id, 24), size=SIZE, anchor=anchor, halo=True)
            )
    y = edge + down * (side.step * len(side.drawn) + LINE_MM / 2) + 1.1
    if side.earlier:
        parts.append(
            svg.text(LEFT_MM, y, f"◂ {side.earlier} earlier", size=SIZE, fill=svg.GREY, halo=True)
        )
    if side.later:
        parts.append(
            svg.text(
                RIGHT_MM,
                y,
                f"{side.later} later ▸",
                size=SIZE,
                anchor="end",
                fill=svg.GREY,
                halo=True,
            )
        )
    if side.left_out:
        middle = (LEFT_MM + RIGHT_MM) / 2
        parts.append(
            svg.text(
                middle,
                y,
                f"{side.left_out} more",
                size=SIZE,
                anchor="middle",
                fill=svg.GREY,
                halo=True,
            )
        )
    return parts


def _instrument(one: CensusPoint, axis: _Axis, y: float, *, full: bool) -> list[str]:
    left, right = axis.x(one.months.first), axis.x(one.months.last + 1)
    ink = svg.BLUE if one.here else svg.INK if one.teaches else svg.GREY
    x = axis.x(one.median + 0.5)
    line = svg.line(left, y, max(right, left + 0.3), y, stroke=ink, width=0.3)
    if one.here:
        tip = f"M{svg.number(x)} {svg.number(y - 1.1)}l1.1 1.1l-1.1 1.1l-1.1-1.1z"
        return [line, f'<path d="{tip}" fill="{ink}"/>']
    if not one.teaches:
        arm = 0.75
        return [
            line,
            svg.line(x - arm, y - arm, x + arm, y + arm, stroke=ink, width=0.3),
            svg.line(x - arm, y + arm, x + arm, y - arm, stroke=ink, width=0.3),
        ]
    return [line, svg.circle(x, y, 0.75, fill=ink if full else svg.WHITE, stroke=ink)]


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def _described(curve: ChangeCurve) -> str:
    what = f"share of instruments as built with {curve.new} in place of {curve.old}, by month."
    steps = []
    if curve.passing:
        most = max(curve.values)
        place = curve.values.index(most)
        steps.append(f"at most {percent(most)}, in {name_month(curve.first + place)}")
    else:
        for share in (0.1, 0.5, 0.9):
            month = curve.reached(share)
            if month is not None and month > curve.first:
                steps.append(f"{percent(share)} from {name_month(month)}")
    told = f" {_sentence('; '.join(steps))}." if steps else ""
    seen = "; ".join(_seen(curve)[:-1] if curve.before else _seen(curve))
    seen = seen.replace("1 first", "First").replace("2 last", "last")
    return f"{what}{told} {seen}.{_beside(curve)}"


def _beside(curve: ChangeCurve) -> str:
    told = ""
    news, olds = ([one for one in side if not one.here] for side in (curve.news, curve.olds))
    if news or olds:
        told = (
            f" Of the census {len(news)} show the new"
            + (f", the earliest in {_earliest(news)}" if news else "")
            + f", and {len(olds)} the old"
            + (f", the latest in {_latest(olds)}" if olds else "")
            + "."
        )
    for side, which in ((curve.news, "new"), (curve.olds, "old")):
        for one in side:
            if one.here:
                told += f" {one.id} shows the {which} and lies at {one.months}."
    return told


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _earliest(points: Sequence[CensusPoint]) -> str:
    return name_month(min(one.median for one in points))


def _latest(points: Sequence[CensusPoint]) -> str:
    return name_month(max(one.median for one in points))
