"""The picture of the date: the completion distribution, and each mark's own period below it.

Bars are months, their height the probability; months of the 50 % range are dark, of the 90 % range
pale, others hollow, and both ranges are drawn as labelled brackets, so that no meaning hangs on
colour. A row below shows each observation's own readings on the same axis with their share; an
observation kept out of the computation is hollow and dashed. Periods beyond the axis are named at
its edge. The axis shows at most ten years about the middle of the 90 % range; probability beyond
it is not drawn, and the figures in the text are then the ones to read.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.papers.document_rows import MarkRow, Timeline
from heelstamp.report import svg
from heelstamp.units import Month, Period, name_month
from heelstamp.wording import about_dates, percent

PLOT_MM = 32.0
MARGIN_MONTHS = 2
SPAN_MAX = 120
"""Longest axis, months."""
VISIBLE = 0.002
"""Least probability of a month that stretches the axis."""
_INITIALS = "JFMAMJJASOND"


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things lie, in mm.

    Attributes
    ----------
    width
        Of the picture.
    label
        Of the column of labels left of the axis; nought where labels stand above their rows.
    row
        Height of a row.
    head
        Room above the years, for the words that the column has no place for.
    range_step
        From one bracket of a range to the next.
    """

    width: float
    label: float
    row: float
    head: float
    range_step: float

    @property
    def narrow(self) -> bool:
        """Whether labels stand above what they name."""
        return self.label == 0


PAPER = Layout(width=166.0, label=50.0, row=6.2, head=0.0, range_step=5.2)
TELEPHONE = Layout(width=84.0, label=0.0, row=9.4, head=5.0, range_step=8.6)


@dataclass(frozen=True, slots=True)
class Axis:
    """Months laid on the paper, first month at ``left``."""

    first: Month
    last: Month
    left: float
    right: float

    @property
    def step(self) -> float:
        """Width of a month in mm."""
        return (self.right - self.left) / (self.last - self.first + 1)

    def x(self, month: float) -> float:
        """The left edge of a month, kept within the axis."""
        place = self.left + (month - self.first) * self.step
        return min(max(place, self.left), self.right)


def axis_for(timeline: Timeline, layout: Layout = PAPER) -> Axis:
    """Choose the months to show: what carries probability, and the used marks near it."""
    visible = [month for month, p in timeline.months if p >= VISIBLE]
    first = min([timeline.interval_90.first, *visible])
    last = max([timeline.interval_90.last, *visible])
    for row in timeline.rows:
        for reading in row.periods if row.used else ():
            months = reading.months
            if months.first >= last - SPAN_MAX + 1 and months.last <= first + SPAN_MAX - 1:
                low, high = min(first, months.first), max(last, months.last)
                if high - low < SPAN_MAX:
                    first, last = low, high
    first, last = first - MARGIN_MONTHS, last + MARGIN_MONTHS
    if last - first >= SPAN_MAX:
        middle = (timeline.interval_90.first + timeline.interval_90.last) // 2
        first = max(first, middle - SPAN_MAX // 2)
        last = min(last, first + SPAN_MAX - 1)
    return Axis(first, last, layout.label, layout.width)


def height_of(timeline: Timeline, layout: Layout = PAPER) -> float:
    """The height of the picture in mm."""
    rows = layout.row * len(timeline.rows)
    ranges = 4.6 + 2 * layout.range_step
    return layout.head + PLOT_MM + ranges + (rows + 6.0 if timeline.rows else 0.0)


def timeline_svg(timeline: Timeline, layout: Layout = PAPER) -> str:
    """Draw the timeline, as wide as the layout says: for paper 166 mm, for a telephone 84 mm."""
    axis = axis_for(timeline, layout)
    height = height_of(timeline, layout)
    base = layout.head + PLOT_MM
    parts = _years(axis, layout.head, base, height)
    parts += _bars(timeline, axis, layout, base)
    parts += ['<g class="ranges">', *_ranges(timeline, axis, layout, base), "</g>"]
    top = base + 9.1 + 2 * layout.range_step
    if timeline.rows:
        parts.append(svg.line(0, top - 2.5, layout.width, top - 2.5, width=0.15))
    for index, row in enumerate(timeline.rows):
        parts += _row(row, axis, layout, top + index * layout.row)
    return svg.drawing(layout.width, height, parts)


def _years(axis: Axis, head: float, base: float, height: float) -> list[str]:
    parts = [svg.line(axis.left, base, axis.right, base, stroke=svg.INK, width=0.25)]
    months = axis.last - axis.first + 1
    year_step = 1 if months <= 72 else 2
    for month in range(axis.first, axis.last + 1):
        x = axis.x(month)
        year, index = divmod(month, 12)
        if index == 0 and year % year_step == 0:
            parts.append(svg.line(x, head + 5.0, x, height, width=0.15, dash="0.6 0.8"))
            parts.append(svg.text(x + 0.8, head + 3.6, str(year), fill=svg.GREY))
        if axis.step >= 3.0:
            middle = x + axis.step / 2
            initial = _INITIALS[index]
            parts.append(svg.text(middle, base + 3.6, initial, anchor="middle", fill=svg.GREY))
    if all(month % 12 for month in range(axis.first, axis.last + 1)):
        parts.append(svg.text(axis.left, head + 3.6, str(axis.first // 12), fill=svg.GREY))
    return parts


def _bars(timeline: Timeline, axis: Axis, layout: Layout, base: float) -> list[str]:
    tallest = max((p for _, p in timeline.months), default=0.0) or 1.0
    room = PLOT_MM - 10.0
    if layout.narrow:
        parts = [svg.text(0, 3.4, "Completed in: probability of each month", bold=True)]
    else:
        parts = [
            svg.text(0, 9.5, "Completed in", bold=True),
            svg.text(0, 13.5, "probability of each", fill=svg.GREY),
            svg.text(0, 17.1, "month", fill=svg.GREY),
        ]
    for month, p in timeline.months:
        if month < axis.first or month > axis.last or p <= 0:
            continue
        tall = room * p / tallest
        fill = svg.WHITE
        if month in timeline.interval_90:
            fill = svg.PALE_BLUE
        if month in timeline.interval_50:
            fill = svg.BLUE
        gap = min(0.5, axis.step * 0.12)
        parts.append(
            svg.rect(
                axis.x(month) + gap,
                base - tall,
                axis.step - 2 * gap,
                tall,
                fill=fill,
                stroke=svg.BLUE,
                stroke_width=0.15,
            )
        )
        if month == timeline.likeliest and tall > 5:
            middle = axis.x(month) + axis.step / 2
            parts.append(
                svg.text(
                    middle,
                    base - tall - 1.0,
                    f"{name_month(month)}, {percent(p)}",
                    anchor="middle",
                    bold=True,
                )
            )
    return parts


def _ranges(timeline: Timeline, axis: Axis, layout: Layout, base: float) -> list[str]:
    parts: list[str] = []
    for place, (interval, label) in enumerate(_told_ranges(timeline)):
        y = base + 8.0 + place * layout.range_step
        left, right = axis.x(interval.first), axis.x(interval.last + 1)
        width = 0.9 if place == 0 else 0.45
        parts.append(svg.line(left, y, right, y, stroke=svg.BLUE, width=width))
        parts += [
            svg.line(x, y - 1.1, x, y + 1.1, stroke=svg.BLUE, width=0.45) for x in (left, right)
        ]
        words = f"{label}: {interval}"
        if layout.narrow:
            parts.append(svg.text(0, y + 4.6, words))
        elif right + 42.0 <= axis.right:
            parts.append(svg.text(right + 1.6, y + 1.0, words))
        else:
            parts.append(svg.text(left - 1.6, y + 1.0, words, anchor="end", halo=True))
    return parts


def _told_ranges(timeline: Timeline) -> tuple[tuple[Period, str], tuple[Period, str]]:
    """Both ranges as the sentences tell them, with how much each holds."""
    half = timeline.interval_50
    more = "more than " if half.first == half.last else ""
    return (half, f"{more}50 %"), about_dates.span_of(timeline.interval_90)


def _row(row: MarkRow, axis: Axis, layout: Layout, y: float) -> list[str]:
    middle = y + layout.row / 2 + (2.0 if layout.narrow else 0.0)
    at = y + 2.4 if layout.narrow else middle + 1.0
    parts = [svg.text(0, at, _shortened(row.label), fill=svg.INK if row.used else svg.GREY)]
    parts.append(svg.line(axis.left, middle, axis.right, middle, stroke=svg.FAINT, width=0.2))
    for reading in row.periods:
        parts += _reading(row, reading.months, reading.weight, axis, middle)
    return parts


def _reading(row: MarkRow, months: Period, weight: float, axis: Axis, middle: float) -> list[str]:
    share = "" if len(row.periods) == 1 else f" {percent(weight)}"
    share = share if row.used else f"{share}, not used"
    if months.last < axis.first:
        words = f"◂ {months}{share}"
        return [svg.text(axis.left + 0.6, middle + 1.0, words, fill=svg.AMBER, halo=True)]
    if months.first > axis.last:
        words = f"{months}{share} ▸"
        return [
            svg.text(axis.right - 0.6, middle + 1.0, words, anchor="end", fill=svg.AMBER, halo=True)
        ]
    left, right = axis.x(months.first), axis.x(months.last + 1)
    tall = 1.2 + 2.2 * weight
    box = svg.rect(
        left,
        middle - tall / 2,
        max(right - left, 0.8),
        tall,
        fill=svg.AMBER if row.used else svg.WHITE,
        stroke=svg.AMBER,
        dash="" if row.used else "0.8 0.6",
    )
    words = f"{months}{share}"
    if right + 2.0 + 1.45 * len(words) <= axis.right and len(row.periods) == 1:
        return [box, svg.text(right + 1.2, middle + 1.0, words, fill=svg.GREY, halo=True)]
    if len(row.periods) > 1 and share:
        return [box, svg.text(right + 0.8, middle + 1.0, share.strip(), fill=svg.GREY, halo=True)]
    return [box, svg.text(left - 1.2, middle + 1.0, words, anchor="end", fill=svg.GREY, halo=True)]


def _shortened(label: str) -> str:
    longest = 34  # letters that fit the column, and half of the telephone's row, at this size
    return label if len(label) <= longest else label[: longest - 1].rstrip() + "…"


def timeline_alt(timeline: Timeline) -> str:
    """Describe the picture for a reader who cannot see it."""
    likeliest = (
        f"; the likeliest month is {name_month(timeline.likeliest)}" if timeline.likeliest else ""
    )
    rows = [
        f"{row.label}: "
        + " or ".join(f"{one.months} ({percent(one.weight)})" for one in row.periods)
        + ("" if row.used else ", not used")
        for row in timeline.rows
    ]
    below = " Below it the marks' own periods. " + "; ".join(rows) + "." if rows else ""
    (half, half_mass), (range_, mass) = _told_ranges(timeline)
    return (
        f"Bars of probability by month of completion. Range of {half_mass}: {half}; of {mass}: "
        f"{range_}{likeliest}.{below}"
    )
