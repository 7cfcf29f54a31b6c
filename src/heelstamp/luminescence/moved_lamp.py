"""Two or three UV-A frames with the lamp at other places: what the light made drops out.

A frame is coat times light, I = V C E + S. The log of one frame less that of another leaves the
light alone, log E1 − log E2; what a smooth surface leaves of it, *r*, maps where shade, shape or
gloss differ between the places of the lamp. A difference of the coat is alike in both: its contrast
in the mean of the frames is large against that of *r*. Lambert's cosine under opposite lamps at
elevation e is cos t ± cot e sin t for a tilt t along the axis: the mean keeps cos t; a tilt across
the axis darkens both alike, which the least contrast and a third place at a right angle cover
(Woodham, Optical Engineering 19(1) (1980) 139-144, for reflectance and shape from several lamps).
Limits were chosen on simulated bodies (``docs/methods/luminescence.md``).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import exact, lamp_direction, linear, one_frame, structure
from heelstamp.luminescence.coat_model import Coat, log_glow
from heelstamp.luminescence.findings import Reason
from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.one_frame import Why
from heelstamp.luminescence.regions import Candidate, contrast_size

BLUR_MM = 0.6
ORDER, ORDER_WITH_FLATS = 3, 1
BIWEIGHT, TURNS, SAMPLES = 4.0, 15, 12_000
LEAST_CONTRAST = 0.09
LEAST_DRIFT, MOST_DRIFT = 0.03, 0.2
LEAST_UNEVEN, UNEVEN_OF_CONTRAST, MOST_UNEVEN = 0.10, 0.5, 0.25
LIT_UNEVENLY = 0.12
GAP_CONTRAST, GAP_BESIDE = -1.2, 0.5
LEAST_SPAN = 125.0
LEAST_THIRD = 50.0
MOST_EXPOSURE = 2.0

Mask = NDArray[np.bool_]


def mean_frame(frames: Sequence[Float], coat: Coat) -> Float:
    """The mean of the frames, each over its own middle luminance on the coat."""
    middles = [float(np.median(linear.luminance(one)[coat.inside])) for one in frames]
    level = float(np.mean(middles))
    total = np.zeros_like(frames[0])
    for one, middle in zip(frames, middles, strict=True):
        total += one * np.float32(level / max(middle, 1e-6) / len(frames))
    return total


def log_frame(frame: Float, per_mm: float) -> Float:
    """Log luminance, log R/G and log B/G after a median of five pixels and a blur of 0.6 mm."""
    calm = np.asarray(cv2.medianBlur(frame, 5), dtype=np.float32)
    return log_glow(structure.blurred(calm, max(0.5, BLUR_MM * per_mm)))


def light_differences(logs: Sequence[Float], coat: Coat, *, flats: bool) -> tuple[Float, ...]:
    """For every two frames the log of their ratio, less a smooth surface: light alone."""
    order = ORDER_WITH_FLATS if flats else ORDER
    return tuple(_rough(one - other, coat, order) for one, other in combinations(logs, 2))


def doubt(
    one: Candidate, mean: Float, differences: Sequence[Float], *, brushed: bool, drawn: bool
) -> Why | None:
    """What else than the coat could have made a candidate of the mean; None where it is claimed.

    Parameters
    ----------
    mean
        Linear light of the mean frame, for the hue of the ring.
    differences
        From ``light_differences``.
    brushed
        The surface was brushed between the frames: dust does not stay where it was.
    drawn
        A person drew outline and parts, or looked at them.
    """
    adds = one_frame.green_change(one, mean) >= 0
    if adds and one_frame.adds_light(one, brushed=brushed) is Why.DUST:
        return Why.DUST
    gap = float(one.contrast[0]) < GAP_CONTRAST and one.border.beside > GAP_BESIDE
    size = contrast_size(one.contrast)
    alike = all(_alike(one, size, r) for r in differences)
    if gap or size < LEAST_CONTRAST or not alike:
        return Why.LIGHT
    return Why.UNDRAWN if not drawn and one_frame.may_be_missed(one) else None


def lit_unevenly(differences: Sequence[Float], coat: Coat) -> Mask:
    """Where the frames are lit too differently to be compared."""
    found = np.zeros(coat.inside.shape, bool)
    for r in differences:
        found |= np.abs(r[..., 0]) > LIT_UNEVENLY
    return found & coat.inside


def not_moved(told: Sequence[lamp_direction.Direction | None]) -> Reason | None:
    """Refuse frames between which the lamp did not go to the opposite side.

    Parameters
    ----------
    told
        Where the lamp stood in each frame, None where it cannot be told.
    """
    if told[0] is None or told[1] is None:
        return Reason(
            "place of the lamp unknown",
            "neither the rounded rim nor the fall-off tells where the lamp stood",
            "Put one lamp 35 to 60 degrees above the body's plane at one side for the first UV-A "
            "frame, and at the opposite side for the second; no other light.",
        )
    turned = lamp_direction.span(told[0], told[1])
    if turned < LEAST_SPAN:
        return Reason(
            "lamp not moved",
            f"between the UV-A frames the light turned by {turned:.0f} degrees; "
            f"{LEAST_SPAN:.0f} are needed",
            "Put the lamp on the opposite side of the body, at the same distance and height, and "
            "take the second UV-A frame again.",
        )
    before = [one for one in told[:2] if one is not None]
    for one in told[2:]:
        if one and min(lamp_direction.span(one, other) for other in before) < LEAST_THIRD:
            return Reason(
                "third place of the lamp",
                "the third UV-A frame has the lamp beside a place where it stood before",
                "Put the lamp at a right angle to the first two places, and take it again.",
            )
    return None


def other_exposure(levels: Sequence[float]) -> Reason | None:
    """Refuse frames of which one is more than twice as bright as another."""
    factor = max(levels) / max(min(levels), 1e-6)
    if factor <= MOST_EXPOSURE:
        return None
    return Reason(
        "other exposure",
        f"one UV-A frame of the body is {factor:.1f} times as bright as the other",
        "Leave time, aperture and gain alone, put the lamp at the same distance on both sides, and "
        "take the frames again.",
    )


def _alike(one: Candidate, size: float, difference: Float) -> bool:
    r = difference[one.box]
    ring = np.median(r[one.ring], axis=0).astype(float)
    drift = np.median(r[one.heart], axis=0).astype(float) - ring
    most = max(LEAST_UNEVEN, UNEVEN_OF_CONTRAST * abs(float(one.contrast[0])))
    uneven = float((np.abs(r[one.mask][:, 0] - ring[0]) > most).mean())
    return contrast_size(drift) <= max(LEAST_DRIFT, MOST_DRIFT * size) and uneven <= MOST_UNEVEN


def _rough(difference: Float, coat: Coat, order: int) -> Float:
    """What a robust polynomial of x and y leaves, with weights from light alone; nought outside."""
    ys, xs = np.nonzero(coat.inside)
    step = max(1, len(ys) // SAMPLES)
    h, w = coat.inside.shape
    unit = max(h, w) / 2.0
    powers = [(a, total - a) for total in range(order + 1) for a in range(total + 1)]

    def terms(x: NDArray[np.floating], y: NDArray[np.floating]) -> list[NDArray[np.floating]]:
        return [x**a * y**b for a, b in powers]

    x, y = (xs[::step] - w / 2) / unit, (ys[::step] - h / 2) / unit
    design = np.column_stack(terms(x, y))
    design, target = exact.on_grid(design), exact.on_grid(difference[ys[::step], xs[::step]])
    weights = np.ones(len(x))
    for _ in range(TURNS):
        weighted = design * weights[:, None]
        normal = design.T @ weighted + 1e-9 * np.eye(len(powers))
        found = exact.solve(normal, weighted.T @ target)
        left = target[:, 0] - design @ found[:, 0]
        scale = max(1.4826 * float(np.median(np.abs(left))), 2e-3)
        near = np.clip(1 - (left / (BIWEIGHT * scale)) ** 2, 0, None) ** 2
        weights = exact.weights_on_grid(near)
    row = ((np.arange(h, dtype=np.float32) - h / 2) / unit)[:, None]
    column = ((np.arange(w, dtype=np.float32) - w / 2) / unit)[None, :]
    left_over = difference.copy()
    for k, term in enumerate(terms(column, row)):
        left_over -= term[..., None].astype(np.float32) * found[k].astype(np.float32)
    return left_over * coat.inside[..., None]
