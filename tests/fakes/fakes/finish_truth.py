"""Comparing what the luminescence engine says with what was planted."""

from collections.abc import Iterator
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fakes.finish_simulator import Pair, soft_edged
from heelstamp.luminescence import Assessment, Doubt, causes, confidence, structure

CAUSE_OF = {
    "touch-up": causes.TOUCH_UP,
    "fill": causes.OVERSPRAY,
    "wear": causes.WEAR,
    "thinned": causes.WEAR,
    "overspray": causes.OVERSPRAY,
    "shade": causes.SHADE,
    "film": causes.FILM,
}
GROUPS = {
    "touch-up": "worn or touched up",
    "wear": "worn or touched up",
    "thinned": "worn or touched up",
    "fill": "fill",
    "overspray": "soft overspray",
    "shade": "shade",
    "film": "film",
}
FOUND = 0.35


def registration_rms(pair: Pair, transform: NDArray[np.floating[Any]]) -> float:
    """The root mean square error of UV → visible over the body, px."""
    inside = np.zeros(pair.labels.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(pair.outline).astype(np.int32)], 1)
    ys, xs = np.nonzero(inside)
    some = np.linspace(0, len(ys) - 1, 600).astype(int)
    here = np.column_stack([xs[some], ys[some]]).astype(float)
    there = structure.apply(np.linalg.inv(pair.transform), here)
    off = structure.apply(transform, there) - here
    return float(np.sqrt((off**2).sum(axis=1).mean()))


def judge(pair: Pair, found: Assessment) -> dict[str, Any]:
    """Verdict, overlap, recall, false regions and calibration pairs of one answer."""
    rms = None if found.transform is None else registration_rms(pair, found.transform)
    result: dict[str, Any] = {
        "verdict": found.verdict,
        "reasons": [r.code for r in found.reasons],
        "rms": rms,
        "style": pair.style,
        "finish": pair.finish,
        "iou": None,
        "recall": [],
        "told": [],
        "false_mm2": [],
        "calibration": [],
        "area_ratios": [],
        "cause_right": [],
        "seen": [],
    }
    if found.verdict != "assessed":
        return result
    labels = found.label_map()
    # the coat within 1.2 mm of an edge is not assessed, so it does not count against the map
    coat = _assessable(pair)
    truth, said = (pair.labels > 0) & coat, (labels > 0) & coat
    together = np.count_nonzero(truth | said)
    result["iou"] = np.count_nonzero(truth & said) / together if together else 1.0
    for defect in pair.defects:
        mask = (pair.labels == defect.label) & coat
        size = np.count_nonzero(mask)
        if size < 7.0 * pair.px_per_mm**2:
            continue
        share = np.count_nonzero(mask & said) / size
        result["recall"].append((GROUPS[defect.kind], bool(share > FOUND)))
        left = any(_covers(doubt, mask) for doubt in found.doubts)
        result["told"].append((GROUPS[defect.kind], bool(share > FOUND) or left))
        if share > FOUND:
            number = int(np.bincount(labels[mask & said]).argmax())
            region = found.regions[number - 1]
            first = next(iter(region.causes))
            result["cause_right"].append(first == CAUSE_OF[defect.kind])
            result["seen"].append((defect.seen, region.visible_difference, region.visible))
            alone = np.count_nonzero(truth & (labels == number)) - np.count_nonzero(
                mask & (labels == number)
            )
            if not soft_edged(defect) and alone < 0.02 * size and share > 0.6:
                result["area_ratios"].append(np.count_nonzero((labels == number) & coat) / size)
    for region in found.regions:
        here = labels == region.number
        if not _is_real(np.count_nonzero(here & (pair.labels > 0)), np.count_nonzero(here)):
            result["false_mm2"].append(float(region.area_px / pair.px_per_mm**2))
    result["calibration"] = [(sure, real) for _, sure, real in candidate_rows(pair, found)]
    return result


def _covers(doubt: Doubt, mask: NDArray[np.bool_]) -> bool:
    """Whether the circle around a place that is left open holds most of a planted one."""
    ys, xs = np.nonzero(mask)
    away = np.hypot(xs - doubt.centre[0], ys - doubt.centre[1])
    return bool((away < doubt.reach_px).mean() > FOUND)


def _is_real(shared: float, size: float) -> bool:
    return shared > 0.25 * size


def _assessable(pair: Pair) -> NDArray[np.bool_]:
    shape = pair.labels.shape
    body, parts = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
    cv2.fillPoly(body, [np.round(pair.outline).astype(np.int32)], 1)
    for _, polygon in pair.parts:
        cv2.fillPoly(parts, [np.round(polygon).astype(np.int32)], 1)
    reach = 1.2 * pair.px_per_mm
    deep = cv2.distanceTransform(body, cv2.DIST_L2, 5) > reach
    clear = cv2.distanceTransform(1 - parts, cv2.DIST_L2, 5) > reach
    return deep & clear


def candidate_rows(
    pair: Pair, found: Assessment
) -> Iterator[tuple[NDArray[np.float64], float, float]]:
    """Features and confidence of every candidate, and one for a real difference."""
    if not found.labels.size:
        return
    size = found.labels.shape[::-1]
    planted = (pair.labels > 0).astype(np.uint8)
    truth = cv2.resize(planted, size, interpolation=cv2.INTER_NEAREST)
    for one, sure in found.considered:
        shared = np.count_nonzero(one.mask & (truth[one.box] > 0))
        numbers = confidence.features(one)
        yield numbers, sure, float(_is_real(shared, np.count_nonzero(one.mask)))
