"""All change-overs of one maker on one axis: a row each, its curve small, its half-way month named.

Rows stand in the order in which the changes happened, so that the years of a maker can be read
down the page. A row's height is the share of the new variant; a batch that came and went is a hump.
Narrow, so that its words can be read on a telephone.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.chronology.change_view import ChangeCurve, ChangeView
from heelstamp.report import svg
from heelstamp.units import Month, name_month
from heelstamp.units.months import MONTHS_A_YEAR

WIDTH_MM = 106.0
ROW_MM = 9.2
TALL_MM = 3.4
HEAD_MM = 6.0
SIZE = 3.3
LETTER_MM = 1.62
"""Width allowed for a letter."""

MARGIN = 6
"""Months left free at either end."""


def change_calendar_svg(views: Sequence[ChangeView], production: tuple[Month, Month]) -> str:
    """Draw the calendar.

    Parameters
    ----------
    production
        First and last month in which instruments were completed.
    """
    rows = _rows(views)
    first = min([production[0], *(turning(one) for _, one in rows)]) - MARGIN
    last = max([production[1], *(turning(one) for _, one in rows)]) + MARGIN
    step = WIDTH_MM / (last - first + 1)

    def x(month: float) -> float:
        return min(max((month - first) * step, 0.0), WIDTH_MM)

    height = HEAD_MM + ROW_MM * len(rows) + 2.0
    parts = []
    every = 1 if last - first <= 6 * MONTHS_A_YEAR else 2
    for month in range(first, last + 1):
        year, index = divmod(month, MONTHS_A_YEAR)
        if index or year % every:
            continue
        parts.append(svg.line(x(month), HEAD_MM - 1.2, x(month), height, width=0.12, dash="0.6 1"))
        if x(month) < WIDTH_MM - 7:
            parts.append(svg.text(x(month) + 0.6, 3.4, str(year), size=SIZE, fill=svg.GREY))
    for place, (name, curve) in enumerate(rows):
        parts += _row(name, curve, HEAD_MM + ROW_MM * place, x, (first, last))
    return svg.drawing(WIDTH_MM, height, parts)


def change_calendar_alt(views: Sequence[ChangeView]) -> str:
    """Describe the calendar for a reader who cannot see it."""
    told = [
        f"{name_month(turning(one))}: {name}, "
        + (f"{one.new} passing" if one.passing else f"{one.old} to {one.new}")
        for name, one in _rows(views)
    ]
    return "Change-overs in the order in which they happened. " + "; ".join(told) + "."


def turning(curve: ChangeCurve) -> Month:
    """The half-way month of a change-over, or the month in which a batch was at its most."""
    if curve.passing:
        return curve.first + curve.values.index(max(curve.values))
    return curve.reached(0.5) or curve.last


def _rows(views: Sequence[ChangeView]) -> list[tuple[str, ChangeCurve]]:
    rows = [(view.name, one) for view in views for one in view.changes]
    return sorted(rows, key=lambda row: (turning(row[1]), row[0]))


def _row(
    name: str, curve: ChangeCurve, top: float, x: object, ends: tuple[Month, Month]
) -> list[str]:
    assert callable(x)
    base = top + ROW_MM - 0.8
    whole = [
        (curve.first + place + 0.5, value)
        for place, value in enumerate(curve.values)
        if ends[0] <= curve.first + place <= ends[1]
    ]
    if not curve.passing:  # what is not laid out has come to its end
        whole = [(float(ends[0]), 0.0), *whole, (float(ends[1] + 1), curve.values[-1])]
    outline = [(x(month), base - TALL_MM * value) for month, value in whole]
    parts = [
        svg.polygon(
            [(outline[0][0], base), *outline, (outline[-1][0], base)],
            fill=svg.PALE_BLUE,
            stroke=svg.BLUE,
            width=0.25,
        ),
        svg.line(0, base, WIDTH_MM, base, stroke=svg.RULE, width=0.15),
    ]
    words = f"{name}: {curve.new}"
    month = turning(curve)
    at = x(month + 0.5)
    parts.append(svg.line(at, base - TALL_MM, at, base + 0.6, stroke=svg.AMBER, width=0.4))
    right, left = (WIDTH_MM - at - 1.2) / LETTER_MM, (at - 1.2) / LETTER_MM
    fits = len(words) <= right or right >= left
    words = _short(words, int(right if fits else left))
    side: svg.Anchor = "start" if fits else "end"
    parts.append(
        svg.text(at + (1.2 if fits else -1.2), top + 3.4, words, size=SIZE, anchor=side, halo=True)
    )
    return parts


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"
