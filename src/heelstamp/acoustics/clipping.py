"""Samples at the stop: runs of one and the same extreme value.

A signal that was clipped before it was coded shows plateaus: three or more equal samples at the
largest value, entered by a step. A slow sine in whole numbers has plateaus of its own at its crest;
their neighbours lie one or two codes lower, those of a clipped one far lower. Clipping that was
rounded off afterwards (a lossy coding, a filter, a limiter) is not seen here; the partials then
tell of distortion.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

LEAST_RUN = 3
CODES = 4.0
SHARE = 2e-4
"""Least step into a plateau: four codes, or this share of the peak in a file of fractions."""


def clipped_runs(samples: NDArray[np.floating]) -> int:
    """Count the plateaus at the upper and lower stop.

    Parameters
    ----------
    samples
        Shape (n,).
    """
    if len(samples) < LEAST_RUN + 2:
        return 0
    found = 0
    for signed in (samples, -samples):
        top = signed.max()
        if top <= 0:
            continue
        places = np.flatnonzero(signed == top)
        if len(places) < LEAST_RUN:
            continue
        breaks = np.flatnonzero(np.diff(places) > 1)
        firsts = places[np.concatenate([[0], breaks + 1])]
        lasts = places[np.concatenate([breaks, [len(places) - 1]])]
        long = lasts - firsts + 1 >= LEAST_RUN
        firsts, lasts = firsts[long], lasts[long]
        step = max(CODES * _code(signed, places), SHARE * float(top))
        before = top - signed[np.maximum(firsts - 1, 0)]
        after = top - signed[np.minimum(lasts + 1, len(signed) - 1)]
        found += int(np.count_nonzero(np.maximum(before, after) > step))
    return found


def _code(signed: NDArray[np.floating], places: NDArray[np.intp]) -> float:
    """The least step between neighbouring values about the stop: one code."""
    about = signed[max(0, int(places[0]) - 2000) : int(places[0]) + 2000]
    steps = np.abs(np.diff(about.astype(np.float64)))
    steps = steps[steps > 0]
    return float(steps.min()) if len(steps) else 0.0
