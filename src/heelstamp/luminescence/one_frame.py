"""What may be claimed from one UV-A frame, and what light, shape or dust could have made as well.

One frame holds the product of coat and light. A lamp's fall-off, a carved top, the shade of a knob
and gloss vary slowly or begin at a part, and change the light but hardly the hue (Barsky and
Petrou, IEEE TPAMI 25(10) (2003) 1239-1252, for shade and highlights among lamps of known place);
dust, fibres, gloss and light thrown by other parts only add light. So two things are claimed:

(a) a place where green falls behind a border that is crisp nearly all around, away from parts and
    rim;
(b) a dark place whose hue in ordinary light differs too, which no shade makes: ground that shows.

Nothing brighter, nothing soft. Limits were chosen on simulated bodies (height maps under lamps at
stated places, ``docs/methods/luminescence.md``). A crisp shadow that touches nothing in the frame
(of a stand, a cable, a part that is not drawn) passes (a).
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from heelstamp.luminescence.linear import LUMA, Float
from heelstamp.luminescence.regions import Candidate, contrast_size

SMALLEST_MM, SMALLEST_PX, SMALLEST_MM2 = 3.0, 6.0, 7.0
LEAST_CONTRAST, LEAST_CLOSED, MOST_BESIDE = 0.2, 0.75, 0.05
DARK, LEAST_HUE, SPREADS, MOST_BESIDE_DARK = -0.45, 0.15, 3.0, 0.35
THREAD_MM, THREAD_FORM = 4.5, 2.0
STRING_FORM = 6.0
DUST_MM = 12.0
GLOWS = 0.25
_FLOOR = 2e-3


class Why(StrEnum):
    """What else than the coat could have made a difference."""

    LIGHT = "light or shape"
    DUST = "dust or fibre"
    UNDRAWN = "a part that is not drawn"


def smallest_mm(per_mm: float) -> float:
    """The width below which nothing is reported, for a map of *per_mm* pixels a millimetre."""
    return max(SMALLEST_MM, SMALLEST_PX / per_mm)


def too_small(one: Candidate, per_mm: float) -> bool:
    """Say whether a place is narrower or smaller than anything that is reported."""
    return one.width_mm < smallest_mm(per_mm) or one.area_mm2 < SMALLEST_MM2


def green_change(one: Candidate, uv: Float) -> float:
    """The log ratio of green in a place to green in its ring, against the modelled coat.

    Parameters
    ----------
    uv
        Linear UV-induced light of the map, for the ring's hue.
    """
    ring = np.maximum(np.median(uv[one.box][one.ring], axis=0).astype(float), _FLOOR)
    hue = np.log(ring / ring[1])
    luma = LUMA.astype(float)
    moved = hue + np.array([one.contrast[1], 0.0, one.contrast[2]])
    return float(one.contrast[0] - np.log(luma @ np.exp(moved)) + np.log(luma @ np.exp(hue)))


def ground_shows(one: Candidate, visible: Float) -> bool:
    """Say whether the hue in ordinary light differs, by 0.15 and by three spreads of the ring.

    Parameters
    ----------
    visible
        Linear visible light of the map, smoothed against noise.
    """
    safe = np.log(np.maximum(visible[one.box], _FLOOR))
    for channel in (0, 2):
        ratio = safe[..., channel] - safe[..., 1]
        ring = ratio[one.ring]
        middle = float(np.median(ring))
        spread = 1.4826 * float(np.median(np.abs(ring - middle)))
        away = abs(float(np.median(ratio[one.heart])) - middle)
        if away >= max(LEAST_HUE, SPREADS * spread):
            return True
    return False


def adds_light(one: Candidate, *, brushed: bool = False) -> Why:
    """Say what a place where green does not fall may be besides coat."""
    thread = one.width_mm < THREAD_MM and one.area_mm2 / one.width_mm**2 > THREAD_FORM
    small = one.width_mm < DUST_MM and not brushed
    return Why.DUST if thread or small else Why.LIGHT


def doubt(one: Candidate, visible: Float, uv: Float, *, drawn: bool) -> Why | None:
    """What else could have made a place that one frame shows; None where it may be claimed.

    Parameters
    ----------
    drawn
        A person drew outline and parts, or looked at them. Otherwise only what cannot be a part
        that was missed is claimed: a place that glows, and that the eye does not see.
    """
    if green_change(one, uv) >= 0:
        return adds_light(one)
    stringy = one.width_mm < THREAD_MM and one.area_mm2 / one.width_mm**2 > STRING_FORM
    crisp = (
        contrast_size(one.contrast) >= LEAST_CONTRAST
        and one.border.closed >= LEAST_CLOSED
        and one.border.beside <= MOST_BESIDE
        and not stringy
    )
    bare = (
        float(one.contrast[0]) < DARK
        and one.border.beside <= MOST_BESIDE_DARK
        and not stringy
        and ground_shows(one, visible)
    )
    if not (crisp or bare):
        return Why.LIGHT
    return Why.UNDRAWN if not drawn and (not crisp or may_be_missed(one)) else None


def may_be_missed(one: Candidate) -> bool:
    """Say whether a place could be a part that a proposal missed: seen, or hardly glowing."""
    return one.colour.visible or float(np.exp(one.contrast[0])) <= GLOWS
