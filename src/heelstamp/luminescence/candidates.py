"""All candidates of a registered pair: the coat model fitted twice, regions found on both."""

from __future__ import annotations

import cv2
import numpy as np

from heelstamp.luminescence import coat_model, linear, regions, structure
from heelstamp.luminescence.findings import Kind
from heelstamp.luminescence.linear import Float

GRADUAL_EDGE, GRADUAL_CONTRAST = 0.30, 0.7
PART_RATIO, PART_EDGE = 0.10, 0.45
PLAIN_CONTRAST, PLAIN_EDGE, PLAIN_CLEARNESS = 0.45, 0.35, 6.0
CLOUDED_CONTRAST = 0.10


def find_all(
    visible: Float, uv: Float, coat: coat_model.Coat, per_mm: float
) -> list[regions.Candidate]:
    """All candidates of a registered linear pair, before confidence is judged.

    The fit without visible colour adds what is missing from the first because visible colour
    explained it away, and must not: what is strong and sharp, as visible wear is, and what looks
    lighter while it glows less, as a cloudy film does on an even coat.
    """
    sigma = max(0.5, 0.25 * per_mm)
    lint_free = np.asarray(cv2.medianBlur(uv, 5), dtype=np.float32)
    glow = coat_model.log_glow(structure.blurred(lint_free, sigma))
    calm = structure.blurred(visible, sigma)
    lab = linear.lab(calm)
    plain = coat_model.fit(glow, coat, None)
    full = coat_model.fit(glow, coat, calm, start=plain.weights)
    found = regions.find(full, coat, lab, per_mm)
    covered = np.zeros(coat.inside.shape, bool)
    for one in found:
        covered[one.box] |= one.mask
    for one in regions.find(plain, coat, lab, per_mm, plain_only=True):
        strong = abs(float(one.contrast[0])) > PLAIN_CONTRAST and one.edge > PLAIN_EDGE
        kept = (strong or clouded(one)) and one.clearness > PLAIN_CLEARNESS
        overlap = np.count_nonzero(covered[one.box] & one.mask)
        if kept and overlap < 0.2 * one.mask.sum():
            found.append(one)
    return sorted(found, key=lambda c: -c.area_mm2)


def clouded(one: regions.Candidate) -> bool:
    """Say whether a place is seen to be lighter than the coat around and yet glows less.

    A lighter ground under sound clear sends more of its glow back, never less (``coat_model``), so
    that no colour of the ground explains such a place.
    """
    dimmer = float(one.contrast[0]) < -CLOUDED_CONTRAST
    return dimmer and one.colour.lighter > 0 and one.colour.visible


def kind_of(one: regions.Candidate) -> Kind:
    """Name how a candidate differs."""
    light = float(one.contrast[0])
    if one.edge < GRADUAL_EDGE and abs(light) < GRADUAL_CONTRAST:
        return Kind.GRADUAL
    hue = float(np.abs(one.contrast[1:]).max())
    if abs(light) < 0.10 and hue > abs(light):
        return Kind.OTHER_HUE
    return Kind.DARKER if light < 0 else Kind.BRIGHTER


def may_be_part(one: regions.Candidate) -> bool:
    """Say whether a place hardly glows and has a hard border, as metal and plastic do.

    Of simulated pairs such parts glowed 0.02 to 0.06 of the coat, worn places 0.10 and more. While
    nobody has looked at the masks, such a place is told as a part that may not be drawn.
    """
    return float(np.exp(one.contrast[0])) < PART_RATIO and one.edge > PART_EDGE
