"""The picture of a note: its partials against the stiff string's law, and its pitch over time.

Above, each partial's distance from the whole multiple of f0 in cents with the law as a line: filled
discs were used, hollow ones were not. Below, the course of pitch from the phases of all partials
together, against the settled pitch; the dashed line is the fitted glide. Bars of the discs are 90 %
of noise alone. 166 mm wide.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import pairwise

import numpy as np

from heelstamp.acoustics.stiff_string import stretch_cents
from heelstamp.casework.pitch import PitchFinding
from heelstamp.report import svg

WIDTH_MM, PLOT_MM = 166.0, 44.0
LEFT_MM, RIGHT_MM = 18.0, 162.0
FIRST_TOP_MM, SECOND_TOP_MM = 16.0, 84.0
HEIGHT_MM = 142.0
STEPS = (1, 2, 5)


def pitch_svg(finding: PitchFinding) -> str:
    """Draw a measured note."""
    one = finding.pitch
    assert one.f1_hz is not None
    assert one.cents_90 is not None
    assert one.cents is not None
    half = 0.5 * (one.cents_90[1] - one.cents_90[0])
    title = (
        f"{finding.recording.name}: {finding.note}, {one.f1_hz:.3f} Hz, "
        f"{one.cents:+.2f} ± {half:.2f} cents (90 %)"
    ).replace("-", "−")
    if one.later_cents is not None:
        title += f"; 1 s after the pluck {one.later_cents:+.2f}".replace("-", "−")
    return svg.drawing(
        WIDTH_MM,
        HEIGHT_MM,
        [
            svg.rect(0, 0, WIDTH_MM, HEIGHT_MM, fill=svg.WHITE),
            svg.text(2, 6, title, bold=True, size=3.4),
            *_partials(finding),
            *_course(finding),
        ],
    )


def _partials(finding: PitchFinding) -> list[str]:
    one = finding.pitch
    assert one.f0_hz is not None
    assert one.b is not None
    shown = [p for p in one.partials if p.used or not p.why_not.startswith(("too weak", "dies"))]
    last = max(p.number for p in shown)
    off = {p.number: 1200.0 * math.log2(p.hz / (p.number * one.f0_hz)) for p in shown}
    law = [stretch_cents(n, one.b) for n in range(1, last + 1)]
    top = max([*law, *(off[p.number] for p in shown if p.used), 1.0]) * 1.1
    low = min([0.0, *(off[p.number] for p in shown if p.used)]) - 0.06 * top
    x = _scale(0.0, last + 1.0, LEFT_MM, RIGHT_MM)
    y = _scale(low, top, FIRST_TOP_MM + PLOT_MM, FIRST_TOP_MM)
    drawn = [
        svg.text(LEFT_MM, FIRST_TOP_MM - 3, f"Partials above n · f0, cents; line: B = {one.b:.3g}")
    ]
    drawn += _frame(FIRST_TOP_MM, low, top, y)
    drawn += [
        svg.text(x(n), FIRST_TOP_MM + PLOT_MM + 4, str(n), anchor="middle", fill=svg.GREY)
        for n in range(1, last + 1)
        if last <= 20 or n % 2
    ]
    drawn.append(svg.text(RIGHT_MM, FIRST_TOP_MM + PLOT_MM + 8, "partial", anchor="end"))
    fine = np.linspace(1.0, last, 80)
    drawn += _line([(x(n), y(600.0 * math.log2(1.0 + one.b * n * n))) for n in fine])
    for p in shown:
        if not low <= off[p.number] <= top:
            continue
        spread = 1.645 * 1200.0 / math.log(2.0) * p.hz_sigma / p.hz
        place = x(p.number), y(off[p.number])
        reach = abs(y(spread) - y(0.0))
        if p.used and reach > 0.8:
            drawn.append(
                svg.line(place[0], place[1] - reach, place[0], place[1] + reach, stroke=svg.INK)
            )
        fill = svg.BLUE if p.used else svg.WHITE
        drawn.append(svg.circle(*place, 0.9, fill=fill, stroke=svg.INK))
    return drawn


def _course(finding: PitchFinding) -> list[str]:
    course, glide = finding.pitch.course, finding.pitch.glide
    if course is None or glide is None or not len(course.t_s):
        return []
    fine = np.linspace(float(course.t_s[0]), float(course.t_s[-1]), 80)
    fitted = glide.at(fine) if glide.accepted else np.zeros_like(fine)
    edges = np.concatenate([course.cents, fitted, [-0.5, 0.5]])
    low, high = float(edges.min()), float(edges.max())
    low, high = low - 0.1 * (high - low), high + 0.1 * (high - low)
    x = _scale(0.0, float(fine[-1]), LEFT_MM, RIGHT_MM)
    y = _scale(low, high, SECOND_TOP_MM + PLOT_MM, SECOND_TOP_MM)
    words = f"glide {glide.cents:+.2f} cents" if glide.accepted else "no glide found"
    drawn = [
        svg.text(
            LEFT_MM,
            SECOND_TOP_MM - 3,
            f"Pitch above the settled one, cents; {words}".replace("-", "−"),
        ),
        *_frame(SECOND_TOP_MM, low, high, y),
        svg.text(RIGHT_MM, SECOND_TOP_MM + PLOT_MM + 8, "seconds since the pluck", anchor="end"),
    ]
    drawn += [
        svg.text(x(t), SECOND_TOP_MM + PLOT_MM + 4, f"{t:g}", anchor="middle", fill=svg.GREY)
        for t in _ticks(0.0, float(fine[-1]))
    ]
    drawn += _line([(x(t), y(c)) for t, c in zip(course.t_s, course.cents, strict=True)])
    for start in range(0, len(fine) - 1, 2):
        drawn.append(
            svg.line(
                x(fine[start]),
                y(fitted[start]),
                x(fine[start + 1]),
                y(fitted[start + 1]),
                stroke=svg.AMBER,
                width=0.4,
            )
        )
    return drawn


def _scale(low: float, high: float, start: float, end: float) -> Callable[[float], float]:
    return lambda value: start + (float(value) - low) / (high - low) * (end - start)


def _frame(top_mm: float, low: float, high: float, y: Callable[[float], float]) -> list[str]:
    drawn = []
    for tick in _ticks(low, high):
        drawn.append(svg.line(LEFT_MM, y(tick), RIGHT_MM, y(tick), stroke=svg.FAINT))
        words = f"{tick:g}".replace("-", "−")
        drawn.append(svg.text(LEFT_MM - 2, y(tick) + 1, words, anchor="end", fill=svg.GREY))
    drawn.append(svg.line(LEFT_MM, top_mm + PLOT_MM, RIGHT_MM, top_mm + PLOT_MM))
    return drawn


def _ticks(low: float, high: float) -> list[float]:
    """About five round values, 1, 2 or 5 times a power of ten apart."""
    power = 10.0 ** math.floor(math.log10((high - low) / 3.0))
    step = max(s * power for s in STEPS if (high - low) / (s * power) >= 3.0)
    return [round(k * step, 10) for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _line(points: Iterable[tuple[float, float]]) -> list[str]:
    told = list(points)
    return [
        svg.line(*first, *second, stroke=svg.BLUE, width=0.3) for first, second in pairwise(told)
    ]
