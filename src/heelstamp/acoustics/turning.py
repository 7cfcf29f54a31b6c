"""When a control was being turned, told by the rustle of its track, and where contact is lost.

A wiper on its track rustles a little louder than the amplifier hisses at rest. Stretches of that
are the turns; pauses of a fifth of a second lie between them. A dead place is a stretch within a
turn where the level leaves that of the rest of the turn by 4 dB or more, up or down, for 8 ms or
more; its share of the turn, at an even speed, of the mechanical rotation of a common potentiometer
(300°: common practice, no source) is the dead angle. A quiet control gives no turns to count, and a
place that is dead without sounding different is not heard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ROTATION_DEG = 300.0
STEP_S = 0.005
LEAST_RUSTLE_DB = 1.5
LEAST_TURN_S, LEAST_PAUSE_S = 0.25, 0.2
DEAD_DB, LEAST_DEAD_S = 4.0, 0.008
_ALIKE = 2.5  # turns that differ by more in length are not all turns


@dataclass(frozen=True, slots=True)
class Turns:
    """Turns found in a take: from and to (s), and the dead angle of a turn on average (degrees)."""

    spans: tuple[tuple[float, float], ...]
    dead_angle_deg: float


def level_track(short: Floats, hop: int, rate_hz: float) -> Floats:
    """The median of short levels over each 5 ms, which single clicks do not move."""
    width = max(3, round(STEP_S * rate_hz / hop))
    count = len(short) // width
    return np.asarray(np.median(short[: count * width].reshape(count, width), axis=1))


def find_turns(track: Floats, still_level: float, step_s: float) -> Turns | None:
    """Find turns of about one length; None when there are none to be told.

    Parameters
    ----------
    track
        Levels, one each *step_s* seconds.
    still_level
        Level of the take with the control at rest, in the same unit.
    """
    wide = max(1, round(0.05 / step_s))
    padded = np.pad(track, wide // 2, mode="edge")
    slow = np.median(np.lib.stride_tricks.sliding_window_view(padded, wide), axis=1)[: len(track)]
    over = 20.0 * np.log10(np.maximum(slow, 1e-12) / max(still_level, 1e-12))
    usual = float(np.quantile(over, 0.8))
    if usual < LEAST_RUSTLE_DB:
        return None
    spans = _runs(over > usual / 2, round(LEAST_PAUSE_S / step_s), round(LEAST_TURN_S / step_s))
    lengths = [end - start for start, end in spans]
    if not spans or max(lengths) > _ALIKE * min(lengths):
        return None
    if len(spans) == 1 and lengths[0] > 0.95 * len(track):
        return None  # one level throughout: no pause says that this was one turn
    shares = [_dead_share(track[start:end], step_s) for start, end in spans]
    told = tuple((start * step_s, end * step_s) for start, end in spans)
    return Turns(told, ROTATION_DEG * float(np.mean(shares)))


def _runs(active: NDArray[np.bool_], least_gap: int, least_run: int) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], active, [False]]).astype(np.int8)))
    joined: list[list[int]] = []
    for start, end in edges.reshape(-1, 2):
        if joined and start - joined[-1][1] < least_gap:
            joined[-1][1] = int(end)
        else:
            joined.append([int(start), int(end)])
    return [(start, end) for start, end in joined if end - start >= least_run]


def _dead_share(turn: Floats, step_s: float) -> float:
    """The share of a turn in which its level is another one."""
    away = 20.0 * np.abs(np.log10(np.maximum(turn, 1e-12) / max(float(np.median(turn)), 1e-12)))
    margin = max(1, round(0.04 / step_s))  # the ends of a turn, where it begins and stops
    away[:margin] = away[-margin:] = 0.0
    dead = _runs(away >= DEAD_DB, 2, max(1, int(np.ceil(LEAST_DEAD_S / step_s))))
    return sum(end - start for start, end in dead) / len(turn)
