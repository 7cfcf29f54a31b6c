"""A picture along the neck: how much each crown lost under each string, in hundredths of mm.

Frets stand where equal temperament puts them; a worn crown is a filled bar as long as its loss,
with its number, one that is not counted as worn a short line. Meaning never hangs on colour alone.
"""

from __future__ import annotations

from heelstamp.mechanics.fret_wear import FretWear
from heelstamp.report import svg

WIDTH_MM, LEFT_MM, TOP_MM, LANE_MM = 190.0, 20.0, 12.0, 15.0
LONGEST_MM, DEEPEST_MM = 9.0, 0.4
"""Length of a bar, and the loss at which it is that long."""


def wear_map_svg(wear: FretWear, *, title: str = "Playing wear, hundredths of a mm") -> str:
    """Draw the map."""
    strings = sorted(wear.level_mm)
    last = max(one.fret for one in wear.crowns)
    whole = 1 - 2 ** (-(last + 0.6) / 12)
    wide = WIDTH_MM - LEFT_MM - 4.0
    foot = TOP_MM + LANE_MM * len(strings)
    parts = [svg.text(0, 5.0, title, bold=True)]
    for fret in range(1, last + 1):
        x = LEFT_MM + wide * (1 - 2 ** (-fret / 12)) / whole
        parts.append(svg.line(x, TOP_MM, x, foot, stroke=svg.RULE, width=0.25))
        if fret in (1, 3, 5, 7, 9, 12, 15, 17, 19, 21, last):
            parts.append(svg.text(x, foot + 4.5, str(fret), anchor="middle"))
    for row, string in enumerate(strings):
        base = TOP_MM + LANE_MM * (row + 1) - 1.5
        parts.append(svg.text(0, base, f"string {string}"))
        parts.append(svg.line(LEFT_MM, base, WIDTH_MM - 4.0, base, stroke=svg.INK, width=0.25))
        for one in wear.crowns:
            if one.string != string:
                continue
            x = LEFT_MM + wide * (1 - 2 ** (-one.fret / 12)) / whole
            if not one.worn:
                parts.append(svg.line(x, base, x, base - 1.2, stroke=svg.GREY, width=0.5))
                continue
            tall = min(1.0, max(0.0, one.loss_mm.value) / DEEPEST_MM) * LONGEST_MM
            parts.append(svg.rect(x - 0.9, base - tall, 1.8, tall, fill=svg.AMBER, stroke=svg.INK))
            words = f"{one.loss_mm.value * 100:.0f}"
            parts.append(svg.text(x, base - tall - 0.8, words, anchor="middle", halo=True))
    return svg.drawing(WIDTH_MM, foot + 7.0, parts)
