"""The picture of a maker's serial curve: points, the line between them, and its scatter.

Months run to the right over the years of production, numbers upwards, each prefix by itself. The
pale band holds nine of ten numbers, as far as the scatter is a normal one. The line goes on at the
slope of its last stretch, dashed, as far as production; numbers stamped twice are a hatched strip
with its words. Narrow, so that its words can be read on a telephone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from heelstamp.chronology.serials import SerialCurve
from heelstamp.report import svg
from heelstamp.units import Month, name_month
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.wording.sentences import listed

WIDTH_MM = 106.0
LEFT_MM, RIGHT_MM = 19.0, 104.0
PLOT_MM = 36.0
SIZE = 3.3
LINE_MM = 4.6
NINE_OF_TEN = 1.645
"""Standard deviations to either side that hold 90 % of a normal."""

ROOM_MM = 4.0
"""Least distance between two numbers beside the plot."""

MARGIN = 1 / 16
"""Share of the numbers that is left free above and below the points."""

Knots = Sequence[tuple[int, Month]]


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where months and numbers stand."""

    curve: SerialCurve
    knots: Knots
    high: float

    @property
    def base(self) -> float:
        return self.high + PLOT_MM

    @property
    def numbers(self) -> tuple[float, float]:
        """The least and the highest number that have room."""
        least, most = self.knots[0][0], self.knots[-1][0]
        more = MARGIN * (most - least)
        return least - more, most + more

    def x(self, month: float) -> float:
        step = (RIGHT_MM - LEFT_MM) / (self.curve.last - self.curve.first + 1)
        return min(max(LEFT_MM + (month - self.curve.first + 0.5) * step, LEFT_MM), RIGHT_MM)

    def y(self, number: float) -> float:
        low, high = self.numbers
        return self.base - PLOT_MM * (number - low) / (high - low)


def serial_curve_svg(curve: SerialCurve, spread: float) -> str:
    """Draw the curve of every prefix, one below the other, 106 mm wide.

    Parameters
    ----------
    spread
        Scatter about the curve, one standard deviation, months.
    """
    parts: list[str] = []
    top = 0.0
    for prefix, knots in curve.knots.items():
        drawn, top = _panel(curve, prefix, knots, spread, top)
        parts += drawn
    return svg.drawing(WIDTH_MM, max(top, 1.0), parts)


def serial_curve_alt(curve: SerialCurve, spread: float) -> str:
    """Describe the picture for a reader who cannot see it."""
    told = [
        f"{listed([f'{prefix}{number} in {name_month(month)}' for number, month in knots])}."
        for prefix, knots in curve.knots.items()
    ]
    told.append(f"Scatter {spread:g} months, one standard deviation.")
    told += [f"{_twice(low, high)}." for low, high in curve.duplicated]
    return " ".join(told)


def _twice(low: int, high: int) -> str:
    return f"Numbers {low} to {high} were stamped twice"


def _panel(
    curve: SerialCurve, prefix: str, knots: Knots, spread: float, top: float
) -> tuple[list[str], float]:
    """One prefix, and where it ends."""
    parts = []
    if prefix or len(curve.knots) > 1:
        named = f"Prefix {prefix}" if prefix else "Without a prefix"
        parts.append(svg.text(0, top + 4.2, named, size=SIZE, bold=True))
        top += 6.0
    plot = _Plot(curve, knots, top + 2.4)
    reach = NINE_OF_TEN * spread
    band = [(plot.x(month - reach), plot.y(number)) for number, month in knots]
    band += [(plot.x(month + reach), plot.y(number)) for number, month in reversed(knots)]
    parts += _years(plot)
    least, most = plot.numbers
    twice = [one for one in curve.duplicated if one[0] <= most and one[1] >= least]
    for low, far in twice:
        above, below = plot.y(min(far, most)), plot.y(max(low, least))
        box = (LEFT_MM, above, RIGHT_MM - LEFT_MM, max(below - above, 0.6))
        parts.append(svg.rect(*box, fill=svg.FAINT, stroke=svg.AMBER, dash="1 0.8"))
    parts.append(svg.polygon(band, fill=svg.PALE_BLUE, stroke="none"))
    parts += _beyond(plot)
    parts += [_stretch(plot, one, other, 0.7) for one, other in pairwise(knots)]
    parts += [svg.circle(plot.x(month), plot.y(n), 1.0, fill=svg.INK) for n, month in knots]
    parts += _numbers(plot)
    parts.append(svg.line(LEFT_MM, plot.base, RIGHT_MM, plot.base, stroke=svg.INK, width=0.25))
    foot = plot.base + 4.4
    for low, far in twice:
        foot += LINE_MM
        parts.append(svg.text(0, foot, _twice(low, far), size=SIZE, fill=svg.GREY))
    return parts, foot + 2.6


def _stretch(
    plot: _Plot, one: tuple[float, float], other: tuple[float, float], width: float, dash: str = ""
) -> str:
    """A line between two numbers and their months."""
    (number, month), (after, end) = one, other
    begin, end_at = (plot.x(month), plot.y(number)), (plot.x(end), plot.y(after))
    return svg.line(*begin, *end_at, stroke=svg.BLUE, width=width, dash=dash)


def _beyond(plot: _Plot) -> list[str]:
    """The line before the first point and after the last, as far as the plot goes."""
    knots, (least, most) = plot.knots, plot.numbers
    parts = []
    for inner, outer, end in (
        (knots[1], knots[0], plot.curve.first),
        (knots[-2], knots[-1], plot.curve.last),
    ):
        number, month = outer
        slope = (number - inner[0]) / ((month - inner[1]) or 1)
        far = min(max(number + slope * (end - month), least), most)
        stop = month + (far - number) / slope
        parts.append(_stretch(plot, outer, (far, stop), 0.4, "1.2 0.9"))
    return parts


def _numbers(plot: _Plot) -> list[str]:
    """The points' numbers beside the plot, as many as there is room for: first and last always."""
    knots = plot.knots
    told, beside, last = [], plot.base + PLOT_MM, plot.y(knots[-1][0])
    for place, (number, _) in enumerate(knots):
        at, is_end = plot.y(number), place in (0, len(knots) - 1)
        if not is_end and (beside - at < ROOM_MM or at - last < ROOM_MM):
            continue
        beside = at
        x, y = LEFT_MM - 1.4, at + 1.1
        told.append(svg.text(x, y, str(number), size=SIZE, anchor="end", fill=svg.GREY))
    return told


def _years(plot: _Plot) -> list[str]:
    curve = plot.curve
    years = [m for m in range(curve.first, curve.last + 1) if m % MONTHS_A_YEAR == 0]
    every = -(-len(years) // 8) if years else 1
    parts = []
    for place, month in enumerate(years):
        x = plot.x(month - 0.5)
        parts.append(svg.line(x, plot.high, x, plot.base, width=0.12, dash="0.6 0.9"))
        if place % every == 0 and LEFT_MM + 3 < x < RIGHT_MM - 3:
            year, y = str(month // MONTHS_A_YEAR), plot.base + 4.2
            parts.append(svg.text(x, y, year, size=SIZE, anchor="middle", fill=svg.GREY))
    return parts
