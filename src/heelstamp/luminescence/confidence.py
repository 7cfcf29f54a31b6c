"""How likely a candidate is a real difference: a logistic model fitted on simulated pairs.

The coefficients belong to the simulator's four tuning styles (``tests/fakes/finish_simulator.py``)
and were fitted with ``benchmarks/finish_accuracy.py --fit --true-position --first 1000 --clean 72
--defects 60 --small 12``; they say nothing about how often real instruments carry repairs. A
candidate below ``REPORTED`` is not shown: the strictest limit at which the tuning styles still met
every goal of overlap and recall, small marks included. Colour in ordinary light enters as the
difference that was measured, the ground's own share included, as it was fitted; whether the eye
sees a region is judged in ``seen_colour``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.regions import Candidate, contrast_size

REPORTED = 0.90
REPORTED_MOVED = 0.70
"""For the mean of frames with a moved lamp, whose test adds evidence."""
LOWEST, HIGHEST = 0.02, 0.95
"""No share above 0.95 is told: what was counted were simulated bodies."""

FEATURES = (
    "one",
    "log clearness",
    "log contrast",
    "edge",
    "surrounded",
    "log area",
    "near the rim",
    "uneven",
    "without visible colour only",
    "seen in ordinary light",
)
COEFFICIENTS = (-3.492, 1.763, 1.897, -1.064, 1.472, 1.096, -2.798, -0.336, 0.0, -1.364)
STRAY_UNKNOWN = -0.5
"""Taken off the score without a grey standard: judgement, not fitted."""


def features(one: Candidate) -> NDArray[np.float64]:
    """The numbers the model looks at, in the order of ``FEATURES``."""
    contrast = contrast_size(one.contrast)
    return np.array(
        [
            1.0,
            np.log(max(one.clearness, 0.1)),
            np.log(max(contrast, 1e-3) / 0.2),
            one.edge,
            one.surrounded,
            np.log(max(one.area_mm2, 1.0) / 50.0),
            np.exp(-one.rim_mm / 5.0),
            min(one.uneven, 1.0),
            float(one.plain_only),
            min(1.0, one.colour.difference / 6.0),
        ]
    )


def confidence(one: Candidate, *, stray_known: bool) -> float:
    """The probability that the candidate is a difference of the coat, 0.02 to 0.95."""
    score = float(features(one) @ np.array(COEFFICIENTS))
    score += 0.0 if stray_known else STRAY_UNKNOWN
    return float(np.clip(1 / (1 + np.exp(-np.clip(score, -40, 40))), LOWEST, HIGHEST))
