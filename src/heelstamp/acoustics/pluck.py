"""When the string was plucked, and how long the sound may be used.

The envelope is the mean square over 30 ms, one period of the lowest string, every 5 ms. The pluck
is where the envelope last was 20 dB below its highest value before reaching it; the use ends where
a hand stopped the string (15 dB within 60 ms), where another pluck begins, or with the recording.
Thresholds are common practice, no source; they were set on simulated notes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

HOP_S = 0.005
FRAME_S = 0.030
ONSET_DB = 20.0
STOP_DB, STOP_S = 15.0, 0.060
RISE_DB, RISE_S = 6.0, 0.040
AGAIN_DB = 14.0
"""A rise is another pluck when it comes within this of the loudest."""


@dataclass(frozen=True, slots=True)
class Pluck:
    """Where a note begins and ends within a recording.

    Attributes
    ----------
    start_s, end_s
        Of the sound that may be used.
    seen
        Whether the recording shows the pluck itself, rather than beginning within the note.
    ended_by
        "recording", "a hand" or "another pluck".
    floor_db
        Level before the pluck, relative to full scale; None without 50 ms of it.
    """

    start_s: float
    end_s: float
    seen: bool
    ended_by: str
    floor_db: float | None


def find_pluck(samples: NDArray[np.floating], rate_hz: int) -> Pluck:
    """Find the loudest pluck of a recording.

    Parameters
    ----------
    samples
        Shape (n,), not all zero.
    """
    hop, span = int(HOP_S * rate_hz), round(FRAME_S / HOP_S)
    count = len(samples) // hop
    whole = len(samples) / rate_hz
    if count < 2 * span:
        return Pluck(0.0, whole, seen=False, ended_by="recording", floor_db=None)
    hops = samples[: count * hop].reshape(count, hop)
    power = np.einsum("ij,ij->i", hops, hops, dtype=np.float64) / hop
    summed = np.concatenate([[0.0], np.cumsum(power)])
    frames = np.maximum(summed[span:] - summed[:-span], 0.0) / span
    level = 10.0 * np.log10(frames + 1e-14)
    loudest = int(level.argmax())
    before = np.flatnonzero(level[: loudest + 1] < level[loudest] - ONSET_DB)
    seen = len(before) > 0
    # a frame begins FRAME_S before the sound that first fills its last hop
    first = int(before[-1]) + span if seen else 0
    ahead = level[loudest:]
    stop, rise = round(STOP_S / HOP_S), round(RISE_S / HOP_S)
    later = _last_rise(level[: loudest + 1], rise)
    if later is not None and later + rise + span - 1 > first + 2 * span:
        first, seen = later + rise + span - 1, True  # plucked anew before it had died away
    fallen = _first(ahead[:-stop] - ahead[stop:] > STOP_DB) if len(ahead) > stop else None
    risen = (
        _first((ahead[rise:] - ahead[:-rise] > RISE_DB) & (ahead[rise:] > ahead[0] - AGAIN_DB))
        if len(ahead) > rise
        else None
    )
    end, ended_by = whole, "recording"
    for place, why in ((fallen, "a hand"), (risen, "another pluck")):
        if place is not None and (loudest + place) * HOP_S < end:
            end, ended_by = (loudest + place) * HOP_S + FRAME_S / 2, why
    quiet = summed[max(0, first - 2)] / max(1, first - 2)
    return Pluck(
        start_s=first * HOP_S,
        end_s=min(end, whole),
        seen=seen,
        ended_by=ended_by,
        floor_db=float(10.0 * np.log10(quiet + 1e-14)) if first >= 12 else None,
    )


def _last_rise(level: NDArray[np.float64], rise: int) -> int | None:
    """Where the last rise of a pluck begins; None without one."""
    if len(level) <= rise:
        return None
    rises = np.flatnonzero(level[rise:] - level[:-rise] > RISE_DB)
    if not len(rises):
        return None
    breaks = np.flatnonzero(np.diff(rises) > 1)
    return int(rises[breaks[-1] + 1] if len(breaks) else rises[0])


def _first(where: NDArray[np.bool_]) -> int | None:
    return int(where.argmax()) if where.any() else None
