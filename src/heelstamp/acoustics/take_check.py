"""Whether a take is good enough to count events in: clipped, silent, too short, recorded otherwise.

A clipped peak is a click of its own. Flat tops are looked for at full scale and below it, for a
stage before the recorder may have been the one that clipped. Limits are judgement, except that
full scale is what the file says it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LEAST_S = 1.0
FULL_SCALE = 0.999
_FLAT = 4  # samples in a row at the extreme
_FLATS = 3  # such tops below full scale
_QUIET = 0.002  # tops of less may be flat by coarse steps alone
_SILENT = 0.5  # share of samples that are nothing


@dataclass(frozen=True, slots=True)
class Reason:
    """Why nothing is told, or less surely: a code, what was found, what to do."""

    code: str
    found: str
    remedy: str


def faults(samples: NDArray[np.floating], rate_hz: float, name: str) -> tuple[Reason, ...]:
    """What speaks against a take; *name* is what to call it, such as ``the still take``."""
    found = []
    seconds = len(samples) / rate_hz
    if seconds < LEAST_S:
        found.append(
            Reason(
                "too short",
                f"{name} lasts {seconds:.2f} s",
                f"Record at least {LEAST_S:.0f} s; five sweeps take about six.",
            )
        )
        return tuple(found)
    if float(np.mean(samples == 0)) > _SILENT:
        found.append(
            Reason(
                "silent",
                f"{name} is silent for the most part",
                "Check plug, channel and noise gate; a gate hides what is counted here.",
            )
        )
    elif clipped(samples):
        found.append(
            Reason(
                "clipped",
                f"{name} is clipped",
                "Turn the gain down and record both takes again at one gain.",
            )
        )
    return tuple(found)


def clipped(samples: NDArray[np.floating]) -> bool:
    """Whether peaks are cut off flat."""
    size = np.abs(samples)
    top = float(size.max())
    if _flat_tops(size >= FULL_SCALE, 2) > 0:
        return True
    return top > _QUIET and _flat_tops(size >= top * (1 - 1e-6), _FLAT) >= _FLATS


def _flat_tops(at_top: NDArray[np.bool_], least: int) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], at_top, [False]]).astype(np.int8)))
    return int(np.sum(edges[1::2] - edges[::2] >= least))
