"""Pictures of a price: its distribution, what moves it, and the market of the shop's comparables.

The three figures are told apart by position, line and words, never by colour alone. All sizes are
in millimetres of print.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.casework.appraisal.finding import Driver, PriceFinding
from heelstamp.report import svg

WIDTH_MM = 170.0
LEFT_MM, RIGHT_MM = 6.0, 164.0
BASE_MM, PEAK_MM = 62.0, 16.0
SHOWN_DRIVERS = 10
ROW_MM = 7.0
LABELS_MM = 74.0
BAR_END_MM = 142.0


def distribution_svg(finding: PriceFinding, *, title: str) -> str:
    """Draw the distribution of the market price, with insured and net as marks of their own."""
    market = finding.market
    prices = [price for price, _ in market.density]
    others = [finding.insured] + ([] if finding.net is None else [finding.net])
    low, high = min([*prices, *others]), max([*prices, *others])

    def x(price: float) -> float:
        return LEFT_MM + (RIGHT_MM - LEFT_MM) * (price - low) / (high - low)

    # equal steps of the logarithm: the density over price is the share over the price itself
    heights = [share / price for price, share in market.density]
    top = max(heights)

    def y(height: float) -> float:
        return BASE_MM - (BASE_MM - PEAK_MM) * height / top

    outline = [(x(p), y(h)) for p, h in zip(prices, heights, strict=True)]
    first, last = market.interval_90
    inside = [(x(p), y(h)) for p, h in zip(prices, heights, strict=True) if first <= p <= last]
    parts = [svg.text(0, 5, title, bold=True)]
    parts.append(
        svg.polygon(
            [(outline[0][0], BASE_MM), *outline, (outline[-1][0], BASE_MM)],
            fill=svg.FAINT,
            stroke=svg.RULE,
        )
    )
    if inside:
        parts.append(
            svg.polygon(
                [(inside[0][0], BASE_MM), *inside, (inside[-1][0], BASE_MM)],
                fill=svg.PALE_BLUE,
                stroke=svg.BLUE,
            )
        )
    parts.append(svg.line(LEFT_MM, BASE_MM, RIGHT_MM, BASE_MM, stroke=svg.INK, width=0.3))
    middle = x(market.median)
    parts.append(svg.line(middle, PEAK_MM, middle, BASE_MM, stroke=svg.BLUE, width=0.5))
    told = f"market {_money(first)} to {_money(last)} (90 %), middle {_money(market.median)}"
    parts.append(svg.text(LEFT_MM, 11, f"{told} {market.currency}", fill=svg.BLUE))
    marks = [("insured", finding.insured, "2 1")]
    if finding.net is not None:
        marks.append(("net to the consignor", finding.net, "0.6 0.8"))
    for row, (name, value, dash) in enumerate(marks):
        place, level = x(value), BASE_MM + 12 + 5 * row
        parts.append(
            svg.line(place, PEAK_MM, place, level - 3, stroke=svg.INK, dash=dash, width=0.4)
        )
        anchor: svg.Anchor = "end" if place > WIDTH_MM / 2 else "start"
        parts.append(svg.text(place, level, f"{name} {_money(value)}", anchor=anchor, halo=True))
    for price in _ticks(low, high):
        parts.append(svg.line(x(price), BASE_MM, x(price), BASE_MM + 1.2, stroke=svg.INK))
        parts.append(svg.text(x(price), BASE_MM + 5, _money(price), anchor="middle", fill=svg.GREY))
    return svg.drawing(WIDTH_MM, BASE_MM + 22, parts)


def drivers_svg(finding: PriceFinding, *, title: str) -> str:
    """Draw what moves the price as bars with their 90 % intervals."""
    rows = finding.drivers[:SHOWN_DRIVERS]
    reach = max((max(abs(one.low), abs(one.high)) for one in rows), default=0.1)
    zero = (LABELS_MM + BAR_END_MM) / 2

    def x(effect: float) -> float:
        return zero + (BAR_END_MM - LABELS_MM) / 2 * effect / reach

    height = 16 + ROW_MM * len(rows)
    parts = [svg.text(0, 5, title, bold=True)]
    parts.append(svg.line(zero, 9, zero, height - 5, stroke=svg.GREY))
    for place, one in enumerate(rows):
        parts += _driver(one, 14 + ROW_MM * place, x, finding.market.currency)
    parts.append(svg.text(0, height - 1, "bars: effect; lines: 90 %", fill=svg.GREY))
    return svg.drawing(WIDTH_MM, height, parts)


def _driver(one: Driver, y: float, x: object, currency: str) -> list[str]:
    assert callable(x)
    begin, end = sorted((x(0.0), x(one.effect)))
    fill = svg.AMBER if one.effect < 0 else svg.BLUE
    return [
        svg.text(LABELS_MM - 2, y + 1, one.label, anchor="end"),
        svg.rect(begin, y - 1.6, max(0.2, end - begin), 3.2, fill=fill),
        svg.line(x(one.low), y, x(one.high), y, stroke=svg.INK, width=0.3),
        svg.text(BAR_END_MM + 2, y + 1, f"{one.money:+,.0f} {currency}".replace("-", "−")),
    ]


def index_svg(finding: PriceFinding, *, title: str) -> str:
    """Draw the market index in money of the day, with its 90 % band."""
    points = finding.market_index
    low = min(one.nominal_90[0] for one in points)
    high = max(one.nominal_90[1] for one in points)
    count = max(1, len(points) - 1)

    def x(place: int) -> float:
        return LEFT_MM + 10 + (RIGHT_MM - LEFT_MM - 10) * place / count

    def y(value: float) -> float:
        return BASE_MM - (BASE_MM - PEAK_MM) * (value - low) / max(1e-9, high - low)

    band = [(x(k), y(one.nominal_90[1])) for k, one in enumerate(points)]
    band += [(x(k), y(one.nominal_90[0])) for k, one in reversed(list(enumerate(points)))]
    parts = [svg.text(0, 5, title, bold=True)]
    parts.append(svg.polygon(band, fill=svg.FAINT, stroke=svg.RULE))
    parts += [
        svg.line(
            x(k),
            y(points[k].nominal),
            x(k + 1),
            y(points[k + 1].nominal),
            stroke=svg.BLUE,
            width=0.5,
        )
        for k in range(count)
    ]
    parts += [
        svg.text(LEFT_MM + 8, y(value) + 1, f"{value:,.0f}", anchor="end", fill=svg.GREY)
        for value in _ticks(low, high)
    ]
    for k in (0, count):
        anchor: svg.Anchor = "start" if k == 0 else "end"
        parts.append(svg.text(x(k), BASE_MM + 5, points[k].month, anchor=anchor, fill=svg.GREY))
    parts.append(svg.text(LEFT_MM + 10, BASE_MM + 10, "in money of the day; band: 90 %"))
    return svg.drawing(WIDTH_MM, BASE_MM + 13, parts)


def distribution_alt(finding: PriceFinding) -> str:
    """Describe the distribution for a reader who cannot see it."""
    return " ".join(finding.sentences[:3])


def _money(value: float) -> str:
    return f"{value:,.0f}"


def _ticks(low: float, high: float) -> Sequence[float]:
    """Four or five round numbers between two."""
    span = high - low
    step = next(
        (
            unit * 10**power
            for power in range(-2, 12)
            for unit in (1, 2, 5)
            if span / (unit * 10**power) <= 5
        ),
        span,
    )
    first = int(low // step + 1)
    return [step * k for k in range(first, int(high // step) + 1)]
