"""Events in the noise of a control: short bursts that stand out of the hiss around them.

The whitened take's root mean square over 0.5 ms, over its median within a tenth of a second, is
about 1 in hiss of any level and colour. An event is a run above a threshold; runs less than 6 ms
apart are one. The threshold is 2, or 1.1 times the largest value in the take with the control at
rest when that is more. Measured: see the method page. Where events fill more than half of the time
the median is theirs, and they are no longer seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.mains_buzz import HOP_S, envelope, find_buzz, stretches, without_buzz
from heelstamp.acoustics.whitening import high_pass, residual

Floats = NDArray[np.float64]

WINDOW_S = 0.0005
MEDIAN_S = 0.1
MERGE_S = 0.006
EDGE_S = 0.005
"""At either end of a take nothing is told."""
LEAST_THRESHOLD = 2.0
OVER_STILL = 1.1


@dataclass(frozen=True, slots=True, eq=False)
class Prominence:
    """How far each moment stands out of the noise around it.

    Attributes
    ----------
    ratio
        Root mean square over 0.5 ms over its local median, every ``hop`` samples; shape (n,).
    passed
        The take above 2 kHz without its buzz, shape (samples,).
    mains_hz
        Frequency of buzz that was taken away; None when there was none.
    """

    ratio: Floats
    passed: Floats
    hop: int
    rate_hz: float
    mains_hz: float | None


@dataclass(frozen=True, slots=True)
class Event:
    """One event: its peak (s), from and to (s), and how many dB it stands out of the noise."""

    at_s: float
    from_s: float
    to_s: float
    level_db: float


def prominence(samples: NDArray[np.floating], rate_hz: float) -> Prominence:
    """Whiten a take and tell how far each moment stands out.

    Raises
    ------
    InputError
        Too short.
    """
    passed = high_pass(samples, rate_hz)
    cleaned = np.empty_like(passed)
    buzzes = []
    pieces = stretches(len(passed), rate_hz)
    for piece in pieces:
        buzz = find_buzz(passed[piece], rate_hz)
        buzzes.append(buzz)
        cleaned[piece] = passed[piece] if buzz is None else without_buzz(passed[piece], buzz)
    error = residual(cleaned)
    hop = max(1, round(HOP_S * rate_hz))
    ratio = over_median(short_rms(error, hop, rate_hz), hop, rate_hz)
    for piece, buzz in zip(pieces, buzzes, strict=True):
        if buzz is not None:
            here = slice(-(-piece.start // hop), -(-piece.stop // hop))
            ratio[here] /= envelope(ratio[here], hop, buzz)
    rim = max(1, round(EDGE_S * rate_hz / hop))
    ratio[:rim] = ratio[-rim:] = 1.0
    found = [rate_hz / buzz.period for buzz in buzzes if buzz is not None]
    return Prominence(ratio, cleaned, hop, rate_hz, float(np.mean(found)) if found else None)


def short_rms(samples: Floats, hop: int, rate_hz: float) -> Floats:
    """The root mean square over 0.5 ms about every *hop*-th sample, shape (n,)."""
    width = max(2, round(WINDOW_S * rate_hz))
    total = np.concatenate([[0.0], np.cumsum(samples**2)])
    middle = np.arange(0, len(samples), hop)
    low = np.maximum(middle - width // 2, 0)
    high = np.minimum(middle - width // 2 + width, len(samples))
    return np.asarray(np.sqrt(np.maximum(total[high] - total[low], 0.0) / (high - low)))


def over_median(level: Floats, hop: int, rate_hz: float) -> Floats:
    """Divide by the median within a tenth of a second, told every quarter of that.

    Of neighbouring medians the largest counts: where the hiss drops at the end of a turn, its last
    moments would stand out of a median that is half that of the quiet after it.
    """
    width = max(8, round(MEDIAN_S * rate_hz / hop))
    middles = np.unique(
        np.clip(np.arange(0, len(level) + width // 4, width // 4), 0, len(level) - 1)
    )
    medians = np.array(
        [np.median(level[max(0, m - width // 2) : m + width // 2 + 1]) for m in middles]
    )
    beside = np.pad(medians, 1, mode="edge")
    medians = np.maximum(medians, np.maximum(beside[:-2], beside[2:]))
    floor = 1e-3 * float(np.median(medians)) + 1e-30
    local = np.interp(np.arange(len(level)), middles, np.maximum(medians, floor))
    return np.asarray(level / local)


def threshold_from(still: Prominence) -> float:
    """The threshold that the take with the control at rest asks for."""
    return max(LEAST_THRESHOLD, OVER_STILL * float(still.ratio.max()))


def events(take: Prominence, threshold: float, merge_s: float = MERGE_S) -> tuple[Event, ...]:
    """The events above *threshold*, in order of time."""
    above = np.flatnonzero(take.ratio > threshold)
    if not len(above):
        return ()
    step = take.hop / take.rate_hz
    breaks = np.flatnonzero(np.diff(above) * step > merge_s) + 1
    found = []
    for run in np.split(above, breaks):
        top = int(run[take.ratio[run].argmax()])
        level = 20.0 * float(np.log10(take.ratio[top]))
        found.append(Event(top * step, float(run[0] * step), float(run[-1] * step), level))
    return tuple(found)
