"""The picture of a control's noise: each take's waveform, its turns' events as ticks above it.

Two takes share their scales, so that fewer and quieter is seen as such. Events are ticks in a row
of their own with their count beside them; no meaning hangs on colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.report import svg

WIDTH_MM, ROW_MM = 166.0, 46.0
LEFT, RIGHT = 4.0, 162.0
COLUMNS = 632  # a quarter of a millimetre each


@dataclass(frozen=True, slots=True, eq=False)
class DrawnTake:
    """A take to draw: title, what was counted, samples, and the times of its events (s)."""

    title: str
    told: str
    samples: NDArray[np.floating]
    rate_hz: float
    events_s: tuple[float, ...]


def noise_svg(takes: Sequence[DrawnTake]) -> str:
    """Draw takes one below the other, 166 mm wide."""
    longest = max(len(one.samples) / one.rate_hz for one in takes)
    loudest = max(float(np.abs(one.samples).max()) for one in takes) or 1.0
    parts: list[str] = []
    for number, one in enumerate(takes):
        parts += _row(one, number * ROW_MM, longest, loudest)
    base = ROW_MM * len(takes)
    step = next(s for s in (0.5, 1, 2, 5, 10, 30, 60, 120) if longest / s <= 12)
    for k in range(int(longest / step) + 1):
        x = _x(k * step, longest)
        parts.append(svg.line(x, base - 2.0, x, base, stroke=svg.GREY))
        parts.append(svg.text(x, base + 3.6, f"{k * step:g} s", anchor="middle", fill=svg.GREY))
    return svg.drawing(WIDTH_MM, base + 6.0, parts)


def _row(take: DrawnTake, top: float, longest: float, loudest: float) -> list[str]:
    parts = [
        svg.text(LEFT, top + 4.5, take.title, bold=True),
        svg.text(RIGHT, top + 4.5, take.told, anchor="end"),
    ]
    for at in take.events_s:
        x = _x(at, longest)
        parts.append(svg.line(x, top + 7.0, x, top + 11.0, stroke=svg.AMBER, width=0.35))
    middle, half = top + 27.0, 14.0
    parts.append(svg.line(LEFT, middle, RIGHT, middle, width=0.15))
    per_column = max(1, int(np.ceil(longest * take.rate_hz / COLUMNS)))
    whole = np.pad(take.samples, (0, -len(take.samples) % per_column)).reshape(-1, per_column)
    width = (RIGHT - LEFT) / COLUMNS
    path = " ".join(
        f"M{svg.number(LEFT + (k + 0.5) * width)},{svg.number(middle - half * high / loudest)}"
        f"V{svg.number(middle - half * low / loudest + 0.05)}"
        for k, (low, high) in enumerate(
            zip(whole.min(axis=1).tolist(), whole.max(axis=1).tolist(), strict=True)
        )
    )
    parts.append(f'<path d="{path}" fill="none" stroke="{svg.BLUE}" stroke-width="0.2"/>')
    return parts


def _x(seconds: float, longest: float) -> float:
    return LEFT + (RIGHT - LEFT) * seconds / longest
