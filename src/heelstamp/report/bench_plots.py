"""The plots of the bench: tension by string, the bow of a neck, clearance fret by fret, intonation.

Axes carry their unit; every uncertain value carries a bar of 90 %. Two series are told apart by
place and label, not by colour alone. All plots are 150 mm wide, in the palette of `report.svg`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from heelstamp.report import svg

WIDTH_MM = 150.0
LEFT_MM = 17.0
RIGHT_MM = 5.0
TOP_MM = 18.0
INK_OF = (svg.GREY, svg.BLUE, svg.AMBER)
DASH_OF = ("1.6 1.1", "", "3.2 1.1")


@dataclass(frozen=True, slots=True)
class Value:
    """A value with the ends of its 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Series:
    """Values in the order of the places across; None where there is none."""

    name: str
    values: tuple[Value | None, ...]


@dataclass(frozen=True, slots=True)
class Bow:
    """One state of a neck: its name, and heights over the frets in mm."""

    name: str
    heights_mm: tuple[float, ...]


def tension_svg(series: Sequence[Series], labels: Sequence[str], *, title: str) -> str:
    """Draw the tension of each string in N, one bar a set."""
    return _bars(series, labels, title=title, upwards="tension (N)")


def action_svg(series: Sequence[Series], labels: Sequence[str], *, title: str) -> str:
    """Draw the action in mm from state to state of the work, one bar a side."""
    return _bars(series, labels, title=title, upwards="action at 12 (mm)")


def intonation_svg(series: Sequence[Series], labels: Sequence[str], *, title: str) -> str:
    """Draw cents or millimetres string by string; the name of each series carries its unit."""
    return _bars(series, labels, title=title, upwards="cent; mm")


def _bars(series: Sequence[Series], labels: Sequence[str], *, title: str, upwards: str) -> str:
    ends = [end for one in series for v in one.values if v for end in (v.low, v.high, 0.0)]
    height, foot = 58.0, 14.0
    low, high, step = _nice(min(ends, default=0.0), max(ends, default=1.0))
    y = _scale(low, high, TOP_MM + height, TOP_MM)
    parts = [svg.text(0, 5.0, title, bold=True), *_key(series)]
    parts += _grid(low, high, step, y, upwards)
    slot = (WIDTH_MM - LEFT_MM - RIGHT_MM) / max(1, len(labels))
    wide = min(7.0, 0.7 * slot / max(1, len(series)))
    for index, label in enumerate(labels):
        middle = LEFT_MM + slot * (index + 0.5)
        for at, one in enumerate(series):
            value = one.values[index]
            if value is None:
                continue
            x = middle + (at - (len(series) - 1) / 2.0) * (wide + 0.6)
            top, base = y(max(value.value, 0.0)), y(min(value.value, 0.0))
            ink = INK_OF[at % 3]
            fill = svg.WHITE if at % 3 == 0 else ink
            parts.append(
                svg.rect(
                    x - wide / 2, top, wide, base - top, fill=fill, stroke=ink, stroke_width=0.4
                )
            )
            parts += _whisker(x, y(value.low), y(value.high))
        for row, line in enumerate(label.split("\n")):
            parts.append(svg.text(middle, TOP_MM + height + 4.5 + 3.8 * row, line, anchor="middle"))
    parts.append(svg.line(LEFT_MM, y(0.0), WIDTH_MM - RIGHT_MM, y(0.0), stroke=svg.INK, width=0.3))
    return svg.drawing(WIDTH_MM, TOP_MM + height + foot, parts)


def relief_svg(
    bows: Sequence[Bow], places_mm: Sequence[float], *, joint: int, read_at: int, title: str
) -> str:
    """Draw the bow of a neck under the line of the relief reading, much exaggerated.

    Parameters
    ----------
    bows
        Heights of nut and frets under the straight line, mm, negative below it.
    places_mm
        Distances of nut and frets from the nut.
    joint, read_at
        Fret at the joint, and fret where relief is read.
    """
    ends = [h for one in bows for h in one.heights_mm]
    low, high, step = _nice(min(ends), max([*ends, 0.0]))
    height = 46.0
    y = _scale(low, high, TOP_MM + height, TOP_MM)
    x = _scale(0.0, max(places_mm), LEFT_MM, WIDTH_MM - RIGHT_MM)
    parts = [svg.text(0, 5.0, title, bold=True)]
    parts += _key([Series(one.name, ()) for one in bows], lines=True)
    parts += _grid(low, high, step, y, "fret tops against the line (mm)")
    for fret in (joint, read_at):
        at = x(places_mm[fret])
        parts.append(svg.line(at, TOP_MM, at, TOP_MM + height, stroke=svg.RULE, dash="0.6 0.9"))
    for at, one in enumerate(bows):
        points = list(zip(places_mm, one.heights_mm, strict=True))
        for (x1, y1), (x2, y2) in pairwise(points):
            parts.append(
                svg.line(
                    x(x1),
                    y(y1),
                    x(x2),
                    y(y2),
                    stroke=INK_OF[at % 3],
                    width=0.55,
                    dash=DASH_OF[at % 3],
                )
            )
        place = x(places_mm[read_at]), y(one.heights_mm[read_at])
        parts.append(svg.circle(*place, 1.0, fill=INK_OF[at % 3], stroke=svg.WHITE))
        words = f"{abs(one.heights_mm[read_at]):.2f}"
        parts.append(
            svg.text(place[0] + 1.8, place[1] - 1.2, words, fill=INK_OF[at % 3], halo=True)
        )
    for fret in sorted({0, 1, 3, 5, 7, 9, 12, 15, 17, len(places_mm) - 1, joint, read_at}):
        if fret >= len(places_mm):
            continue
        word = "nut" if fret == 0 else str(fret)
        bold = fret in (joint, read_at)
        parts.append(
            svg.text(x(places_mm[fret]), TOP_MM + height + 4.5, word, anchor="middle", bold=bold)
        )
    told = f"across: frets; relief is read at {read_at}, the neck joins the body at {joint}"
    parts.append(svg.text(LEFT_MM, TOP_MM + height + 9.5, told, fill=svg.GREY))
    return svg.drawing(WIDTH_MM, TOP_MM + height + 12.0, parts)


def clearance_svg(series: Sequence[Series], *, title: str) -> str:
    """Draw the least margin over the frets beyond each held fret; below nought it buzzes."""
    ends = [end for one in series for v in one.values if v for end in (v.low, v.high, 0.0)]
    low, high, step = _nice(min(ends, default=0.0), max(ends, default=1.0))
    height = 52.0
    y = _scale(low, high, TOP_MM + height, TOP_MM)
    count = max((len(one.values) for one in series), default=1)
    slot = (WIDTH_MM - LEFT_MM - RIGHT_MM) / count
    parts = [svg.text(0, 5.0, title, bold=True), *_key(series)]
    parts += _grid(low, high, step, y, "margin (mm)")
    if low < 0:
        parts.append(
            svg.rect(
                LEFT_MM, y(0.0), WIDTH_MM - LEFT_MM - RIGHT_MM, y(low) - y(0.0), fill=svg.FAINT
            )
        )
        if y(low) - y(0.0) > 5.0:
            parts.append(svg.text(LEFT_MM + 1.5, y(low) - 1.4, "meets a fret", fill=svg.GREY))
    for held in range(count):
        middle = LEFT_MM + slot * (held + 0.5)
        for at, one in enumerate(series):
            value = one.values[held] if held < len(one.values) else None
            if value is None:
                continue
            x = middle + (at - (len(series) - 1) / 2.0) * 1.9
            ink = INK_OF[at % 3]
            parts += _whisker(x, y(value.low), y(value.high), ink)
            parts.append(
                svg.rect(
                    x - 0.75,
                    y(value.value) - 0.75,
                    1.5,
                    1.5,
                    fill=svg.WHITE,
                    stroke=ink,
                    stroke_width=0.4,
                )
                if at % 3 == 0
                else svg.circle(x, y(value.value), 0.95, fill=ink, stroke=svg.WHITE)
            )
        word = "open" if held == 0 else str(held)
        parts.append(svg.text(middle, TOP_MM + height + 4.5, word, anchor="middle"))
    parts.append(svg.line(LEFT_MM, y(0.0), WIDTH_MM - RIGHT_MM, y(0.0), stroke=svg.INK, width=0.3))
    told = "across: fret held; bars: 90 %"
    parts.append(svg.text(LEFT_MM, TOP_MM + height + 9.5, told, fill=svg.GREY))
    return svg.drawing(WIDTH_MM, TOP_MM + height + 12.0, parts)


def _key(series: Sequence[Series], *, lines: bool = False) -> list[str]:
    parts, x = [], LEFT_MM
    for at, one in enumerate(series):
        ink = INK_OF[at % 3]
        if lines:
            parts.append(
                svg.line(x, 10.4, x + 7, 10.4, stroke=ink, width=0.55, dash=DASH_OF[at % 3])
            )
            x += 8.5
        else:
            fill = svg.WHITE if at % 3 == 0 else ink
            parts.append(svg.rect(x, 9.0, 2.6, 2.6, fill=fill, stroke=ink, stroke_width=0.4))
            x += 4.2
        parts.append(svg.text(x, 11.4, one.name))
        x += 1.55 * len(one.name) + 6.0
    return parts


def _grid(
    low: float, high: float, step: float, y: Callable[[float], float], upwards: str
) -> list[str]:
    parts = []
    for index in range(round((high - low) / step) + 1):
        value = low + index * step
        at = y(value)
        parts.append(svg.line(LEFT_MM, at, WIDTH_MM - RIGHT_MM, at, stroke=svg.FAINT))
        places = max(0, -math.floor(math.log10(step) + 1e-9))
        words = f"{value:.{places}f}".replace("-", "−")
        parts.append(svg.text(LEFT_MM - 1.6, at + 1.0, words, anchor="end", fill=svg.GREY))
    parts.append(svg.text(0, TOP_MM - 2.4, upwards, fill=svg.GREY))
    return parts


def _whisker(x: float, low: float, high: float, ink: str = svg.INK) -> list[str]:
    if abs(low - high) < 0.05:  # no interval to show
        return []
    ends = [svg.line(x - 0.7, y, x + 0.7, y, stroke=ink, width=0.3) for y in (low, high)]
    return [svg.line(x, low, x, high, stroke=ink, width=0.3), *ends]


def _scale(low: float, high: float, at_low: float, at_high: float) -> Callable[[float], float]:
    slope = (at_high - at_low) / (high - low)
    return lambda value: at_low + slope * (value - low)


def _nice(low: float, high: float) -> tuple[float, float, float]:
    """Round ends and a round step for four to eight lines."""
    span = max(high - low, 1e-6)
    size = 10.0 ** math.floor(math.log10(span / 4.0))
    step = next(size * one for one in (1.0, 2.0, 5.0, 10.0) if span / (size * one) <= 8.0)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return first * step, max(last, first + 1) * step, step
