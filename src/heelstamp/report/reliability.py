"""The reliability diagram: what was said across, what came about upwards, the diagonal between.

Each point stands for ranges or probabilities of one size, with a bar for the 90 % interval that
their number alone explains; a point whose bar meets the diagonal says nothing against it. How many
stand behind a point is written beside it or below, so that no meaning hangs on its size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.report import svg

WIDTH_MM = 110.0
HEIGHT_MM = 112.0
LEFT_MM = 18.0
TOP_MM = 12.0
SIDE_MM = 80.0


@dataclass(frozen=True, slots=True)
class ReliabilityPoint:
    """Said and seen, as shares, with the interval of what was seen and how many it rests on."""

    said: float
    seen: float
    low: float
    high: float
    count: int


def reliability_svg(
    points: Sequence[ReliabilityPoint], *, title: str, across: str, upwards: str
) -> str:
    """Draw the diagram, 110 mm wide.

    Parameters
    ----------
    title
        One line above the diagram.
    across, upwards
        What the two axes are.
    """
    parts = [svg.text(0, 5.0, title, bold=True), *_frame(across, upwards)]
    for one in points:
        x = _x(one.said)
        low, high = _y(one.low), _y(one.high)
        parts.append(svg.line(x, low, x, high, stroke=svg.BLUE, width=0.5))
        parts += [svg.line(x - 0.9, y, x + 0.9, y, stroke=svg.BLUE, width=0.5) for y in (low, high)]
        parts.append(svg.circle(x, _y(one.seen), 1.1, fill=svg.BLUE, stroke=svg.WHITE))
    counts = {one.count for one in points}
    if len(counts) == 1:
        below = f"{counts.pop()} instruments; bars: 90 % of what chance alone allows"
    else:
        below = "bars: 90 % of what chance alone allows"
        parts += [
            svg.text(
                _x(one.said) + 1.6, _y(one.seen) + 3.4, str(one.count), fill=svg.GREY, halo=True
            )
            for one in points
        ]
    parts.append(svg.text(LEFT_MM, HEIGHT_MM - 2.0, below, fill=svg.GREY))
    return svg.drawing(WIDTH_MM, HEIGHT_MM, parts)


def _x(share: float) -> float:
    return LEFT_MM + SIDE_MM * share


def _y(share: float) -> float:
    return TOP_MM + SIDE_MM * (1 - share)


def _frame(across: str, upwards: str) -> list[str]:
    parts = [svg.rect(LEFT_MM, TOP_MM, SIDE_MM, SIDE_MM, stroke=svg.RULE, stroke_width=0.25)]
    for place in range(0, 101, 20):
        share = place / 100
        x, y = _x(share), _y(share)
        if 0 < place < 100:
            parts.append(svg.line(x, TOP_MM, x, TOP_MM + SIDE_MM, stroke=svg.FAINT))
            parts.append(svg.line(LEFT_MM, y, LEFT_MM + SIDE_MM, y, stroke=svg.FAINT))
        parts.append(
            svg.text(x, TOP_MM + SIDE_MM + 4.2, f"{place} %", anchor="middle", fill=svg.GREY)
        )
        parts.append(svg.text(LEFT_MM - 1.6, y + 1.0, f"{place} %", anchor="end", fill=svg.GREY))
    parts.append(svg.line(_x(0), _y(0), _x(1), _y(1), stroke=svg.GREY, width=0.3, dash="1.2 1"))
    parts.append(svg.text(LEFT_MM, TOP_MM + SIDE_MM + 10.0, f"across: {across}"))
    parts.append(svg.text(LEFT_MM, TOP_MM + SIDE_MM + 14.0, f"upwards: {upwards}"))
    return parts


def reliability_alt(points: Sequence[ReliabilityPoint], *, title: str) -> str:
    """Describe the diagram for a reader who cannot see it."""
    told = "; ".join(
        f"said {100 * one.said:.0f} %, seen {100 * one.seen:.0f} % "
        f"({100 * one.low:.0f} to {100 * one.high:.0f} % by chance, {one.count})"
        for one in points
    )
    return f"{title}. {told}."
