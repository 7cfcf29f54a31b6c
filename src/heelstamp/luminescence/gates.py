"""When a pair is refused, and what to do instead.

Every limit was chosen on pairs of the simulator's tuning styles (``docs/methods/luminescence.md``
gives the counts) and is looked at in the order in which the faults hide one another: what is no
photograph, the same photograph twice, a swapped pair, clipping before fall-off, position, blur,
stray light, fall-off. A gate that is passed proves nothing.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import structure
from heelstamp.luminescence.findings import Reason
from heelstamp.luminescence.linear import Bytes, Float
from heelstamp.luminescence.registration import FINE, Registration
from heelstamp.luminescence.sharpness import Sharpness

SMALLEST_SIDE = 400
CLIPPED_CODE, CLIPPED_SHARE = 254, 0.01
SAME_CORRELATION = 0.985
LEAST_CORRELATION = 0.35
MOST_RESIDUAL, RESIDUAL_SHARE = 2.0, 0.0012
LEAST_GOOD_TILES = 0.45
LEAST_AGREEING = 0.12
SURE_RESIDUAL, SURE_AGREEING = 1.3, 0.3
MOST_STATED, MOST_SCATTER = 1.7, 0.2
SCATTER_AGREEING = 0.35
"""From so many edges that agree, scatter is that of grain and noise: edges of two bodies agree by
chance in at most a quarter."""
OR_BLURRED = ("position does not hold", "position unsure")
MOST_STRAY = 0.08
MOST_FALL_OFF = 4.0
DARKEST_GLOW = 0.02
MOST_ADDED_BLUR, MOST_SHAKE = 1.6, 1.5
MOST_ADDED_LIT = 2.5
"""The same under a lamp at one side, of all edges and of those in its light: a rounded rim fades in
there in a sharp frame (chosen on 14 frames of the ray-cast family, at most 1.8 of all edges)."""

Mask = NDArray[np.bool_]


def sizes(visible: Bytes, uv: Bytes) -> Reason | None:
    """Refuse photographs too small to show anything, or of another format."""
    smallest = min(*visible.shape[:2], *uv.shape[:2])
    if smallest < SMALLEST_SIDE:
        return Reason(
            "too small",
            f"the shorter side has {smallest} pixels",
            f"Hand in the photographs as taken, at least {SMALLEST_SIDE} pixels on each side.",
        )
    ratios = [image.shape[1] / image.shape[0] for image in (visible, uv)]
    if not 0.9 < ratios[0] / ratios[1] < 1.1 and not 0.9 < ratios[0] * ratios[1] < 1.1:
        return Reason(
            "other format",
            f"sides are {ratios[0]:.2f} and {ratios[1]:.2f} to one",
            "Take both photographs with one camera and crop neither.",
        )
    return None


def same_photograph(visible: Bytes, uv: Bytes) -> Reason | None:
    """Refuse one photograph handed in twice, also after a change of exposure or format."""
    small = [structure.reduce_to(image, 256)[0].astype(np.float32) for image in (visible, uv)]
    if small[0].shape != small[1].shape:
        return None
    ranks = [image.reshape(-1, 3) for image in small]
    correlations = [_correlation(ranks[0][:, k], ranks[1][:, k]) for k in range(3)]
    if min(correlations) > SAME_CORRELATION:
        return Reason(
            "same photograph twice",
            f"their colours agree to {min(correlations):.3f}",
            "Hand in the visible photograph first and the UV photograph second.",
        )
    return None


def _correlation(one: NDArray[np.float32], two: NDArray[np.float32]) -> float:
    if float(one.std()) < 0.5 or float(two.std()) < 0.5:
        return 1.0 if float(np.abs(one - two).mean()) < 1.0 else 0.0
    return float(np.corrcoef(one, two)[0, 1])


def swapped(visible_border: float, uv_border: float) -> Reason | None:
    """Refuse a pair handed in the wrong way round.

    A UV frame is dark around the object, in linear light against its bright part. Both shares are
    medians of the outer tenth of the frame over the 90th percentile of the frame.
    """
    if uv_border > 2.0 * visible_border and visible_border < 0.06:
        return Reason(
            "swapped pair",
            "the first photograph is the one that is dark around the object",
            "Hand in the visible photograph first and the UV photograph second.",
        )
    return None


def border_share(linear: Float) -> float:
    """The median of the outer tenth of a frame over its 90th percentile, linear light."""
    grey = linear.mean(axis=2)
    h, w = grey.shape
    inner = np.zeros(grey.shape, bool)
    inner[h // 10 : h - h // 10, w // 10 : w - w // 10] = True
    return float(np.median(grey[~inner]) / max(float(np.percentile(grey, 90)), 1e-4))


def clipping(share: float, where: str) -> Reason | None:
    """Refuse when more than one body pixel in a hundred has a channel at its end."""
    if share <= CLIPPED_SHARE:
        return None
    return Reason(
        f"clipped {where}",
        f"{share:.1%} of the body is at the end of a channel's range",
        "Expose less: shorter time or smaller aperture, and leave the gain alone.",
    )


def clipped_share(code: Bytes, inside: Mask) -> float:
    """The share of pixels inside with any channel at 254 or above, at full size."""
    within = cv2.inRange(code, (0, 0, 0), (CLIPPED_CODE - 1,) * 3)
    ends = (within == 0).astype(np.float32)
    small = cv2.resize(ends, inside.shape[::-1], interpolation=cv2.INTER_AREA)
    return float(small[inside].mean()) if inside.any() else 0.0


def position(found: Registration | None, longest: int) -> Reason | None:
    """Refuse a pair whose positions could not be found or do not hold."""
    by_hand = "Mark four points that both photographs show, or take the pair again on a tripod."
    if found is None:
        return Reason("not registered", "the search for the position did not converge", by_hand)
    if found.mirrored > 0.05 + found.upright and found.mirrored > LEAST_CORRELATION:
        return Reason(
            "wrong side",
            "the mirrored photograph fits better than the photograph itself",
            "Hand in two photographs of the same side, neither of them mirrored.",
        )
    borne_out = (
        found.residual < SURE_RESIDUAL
        and found.spread < SURE_RESIDUAL
        and found.agreeing > SURE_AGREEING
    )
    if not found.by_points and found.correlation < LEAST_CORRELATION and not borne_out:
        return Reason(
            "different instrument",
            f"edges agree to {found.correlation:.2f} only",
            "Check that both show the same side of the same instrument. " + by_hand,
        )
    limit = max(MOST_RESIDUAL, RESIDUAL_SHARE * longest)
    return _not_held(found, limit, by_hand) or _unsure(found, longest, by_hand)


def _not_held(found: Registration, limit: float, by_hand: str) -> Reason | None:
    """Refuse a position that tiles or edges do not bear out, or that may be far off."""
    if found.good_tiles < LEAST_GOOD_TILES or found.agreeing < LEAST_AGREEING:
        return Reason(
            "position does not hold",
            f"{found.good_tiles:.0%} of the tiles and {found.agreeing:.0%} of the edges agree",
            by_hand,
        )
    if found.residual > limit or found.spread > limit:
        return Reason(
            "position does not hold",
            f"{max(found.residual, found.spread):.1f} pixels are left between the photographs",
            by_hand,
        )
    return None


def _unsure(found: Registration, longest: int, by_hand: str) -> Reason | None:
    """Refuse a position that is borne out, but not closely enough to be sure of it.

    Edges of one and the same body agree to a few hundredths of a working pixel in the median. Of
    two bodies of one model some edges agree as well, scattered more widely.
    """
    scatter = found.spread / max(1.0, longest / FINE)
    if scatter > MOST_SCATTER and found.agreeing < SCATTER_AGREEING:
        return Reason(
            "position unsure",
            f"edges that agree still scatter by {found.spread:.2f} pixels",
            "Check that both show the same instrument, not another of its model. " + by_hand,
        )
    if found.stated > MOST_STATED:
        return Reason(
            "position unsure",
            f"the position may be off by {min(found.stated, 999.0):.1f} pixels over the body",
            "Put a small card with a printed corner on both ends of the body in both photographs, "
            "or light the whole rim. " + by_hand,
        )
    return None


def blur(found: Sharpness | None) -> Reason | None:
    """Refuse a UV photograph that is clearly softer than the visible one."""
    if found is None:
        return None
    if found.added <= MOST_ADDED_BLUR:
        return None
    if found.added > MOST_SHAKE * max(found.least_added, 0.5):
        return Reason(
            "shaken",
            f"edges are {found.added:.1f} pixels softer in one direction",
            "Use a tripod and a self-timer or remote release.",
        )
    return Reason(
        "blurred",
        f"edges are {found.added:.1f} pixels softer than in the visible photograph",
        "Focus in visible light, then touch nothing; use a tripod.",
    )


def clearly_soft(found: Sharpness | None) -> bool:
    """Say whether edges are softer than a shade makes them; so it is taken where too few tell."""
    return found is None or found.added > MOST_ADDED_LIT


def stray(share: float | None) -> Reason | None:
    """Refuse when light that is no glow is too strong to be taken away safely."""
    if share is None or share <= MOST_STRAY:
        return None
    return Reason(
        "stray light",
        f"{share:.0%} of the glow is light that is none",
        "Darken the room, and put a visible-blocking filter before the lamp.",
    )


def darkness(level: float) -> Reason | None:
    """Refuse a UV photograph in which the body hardly glows."""
    if level >= DARKEST_GLOW:
        return None
    return Reason(
        "too dark",
        f"the body's middle brightness is {level:.1%} of the range",
        "Expose longer, or bring the lamp nearer; no glow does not mean no coat.",
    )


def fall_off(ratio: float) -> Reason | None:
    """Refuse a lamp that lights one end far more than the other."""
    if ratio <= MOST_FALL_OFF:
        return None
    return Reason(
        "uneven lamp",
        f"the brightest part of the coat is {ratio:.1f} times the darkest",
        "Move the lamp back, or use two lamps from both sides.",
    )


UNKNOWN_STRAY = Reason(
    "stray light unknown",
    "no grey standard that does not glow was in the frame",
    "Lay a grey standard beside the body next time; confidences are lower without.",
)


def lit_unevenly(share: float, area_cm2: float | None) -> Reason:
    """What the frames with a moved lamp light too differently to be compared."""
    extent = (
        f"{share:.1%} of the finish" if area_cm2 is None else f"{area_cm2:.0f} cm² of the finish"
    )
    return Reason(
        "lit unevenly",
        f"{extent} are lit too differently from place to place of the lamp to be tested",
        "A third UV-A frame with the lamp at a right angle, or another height of the lamp, lights "
        "more; what was not tested is not called even.",
    )


ONE_PLACE = Reason(
    "one place of the lamp",
    "the glow was photographed with the lamp at one place",
    "Put the lamp on the opposite side at the same distance, brush the surface, and take a second "
    "UV-A frame: from one frame only dark places with a crisp border all around are told.",
)
NO_SCALE = Reason(
    "no scale",
    "no ruler, known length or pixels per millimetre was given",
    "Give a scale to get areas; lengths were guessed from a body of about 430 mm.",
)
PROPOSED_MASKS = Reason(
    "masks proposed",
    "outline and parts were found by the program from the visible photograph",
    "Look at the proposed outline and parts and correct them.",
)
TURNED = Reason(
    "turned",
    "the UV photograph was upside down against the visible one",
    "Nothing to do: it was turned.",
)
