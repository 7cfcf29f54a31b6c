"""Buzz that is locked to the mains, taken away by the median of its own periods.

Dimmers, lamps and chargers make the same short pulse in every period of the mains. Its frequency is
found from the power of the signal, near 50 or 60 Hz; it wanders, so its phase is followed through
the take; each period is moved to whole samples, and the median over periods is a template in which
neither clicks nor hiss survive. Pulses that change in height from one period to the next are left
in part: `envelope` tells how far what is left still follows the mains. Holds for 50 and 60 Hz, and
for stretches of a second and more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Curve = Callable[[Floats], Floats]

NOMINAL_HZ = (50.0, 60.0)
REACH_HZ = 0.3
"""How far the mains may be off. Large networks keep within 0.2 Hz; common knowledge, no source."""
HARMONICS = 12
CLEAR = 3.0
"""Harmonics of the power stand this many times over what lies beside them, or it is no buzz."""
STRETCH_S = 8.0
"""Followed at once: a cubic tells the phase over so long."""
HOP_S = 0.000125
SLOTS = 8
_TOGETHER = 10  # periods averaged before their lag is told
_MARGIN = 16  # samples beside a period, so that moving it does not wrap around
_FINE = 16  # steps of a sample in which a lag is told
_WIDE_LAG, _NEAR_LAG, _LAST_LAG = 128.0, 32.0, 6.0
# samples by which the shape may correct what came before


@dataclass(frozen=True, slots=True, eq=False)
class Buzz:
    """The mains as found in one stretch: where each of its periods begins, in samples, rising."""

    starts: Floats

    @property
    def period(self) -> float:
        """Mean length in samples."""
        return float(np.mean(np.diff(self.starts)))


def stretches(count: int, rate_hz: float) -> list[slice]:
    """Cut a take into stretches of about the same length, each at most `STRETCH_S`."""
    pieces = max(1, int(np.ceil(count / (STRETCH_S * rate_hz))))
    edges = np.linspace(0, count, pieces + 1).round().astype(int)
    return [slice(int(a), int(b)) for a, b in pairwise(edges)]


def find_buzz(passed: Floats, rate_hz: float) -> Buzz | None:
    """Find pulses locked to the mains in a stretch of high-passed samples; None without any."""
    hop = max(1, round(HOP_S * rate_hz))
    power, hops = log_power(passed, hop), rate_hz / hop
    best = max((_strength(power, hops, one) for one in NOMINAL_HZ), key=lambda found: found[1])
    frequency, strength, harmonic = best
    if strength < CLEAR or len(passed) * frequency < 4 * _TOGETHER * rate_hz:
        return None
    starts = _followed_by_power(power, hop, frequency / rate_hz, harmonic)
    for most, wander in (
        (_WIDE_LAG, _smooth),
        (_NEAR_LAG, _smooth),
        (_LAST_LAG, _smooth),
        (_LAST_LAG, _joined),
        (_LAST_LAG, _joined),
    ):
        starts = _followed_by_shape(passed, starts, most, wander)
    return Buzz(starts)


def without_buzz(passed: Floats, buzz: Buzz) -> Floats:
    """Take the median over all periods away from each of them, an eighth of a period at a time.

    Eighths, because a period that grows by a sample during the take moves a pulse in its middle by
    half a sample.
    """
    before, after = 2 * buzz.starts[0] - buzz.starts[1], 2 * buzz.starts[-1] - buzz.starts[-2]
    further = np.array([before, *buzz.starts, after])
    cleaned = passed.copy()
    for number in range(SLOTS):
        told = _slot(buzz.starts, number)
        template = np.median(_rows(passed, told, _slot_length(buzz.starts)), axis=0)
        firsts, nexts = _slot(further, number), _slot(further, number + 1)
        whole, stops = np.floor(firsts).astype(int), np.floor(nexts).astype(int)
        moved = _moved(np.tile(template, (len(firsts), 1)), firsts - whole)
        for row, start, stop in zip(moved, whole, stops, strict=True):
            low, high = max(start, 0), min(stop, len(passed))
            if low < high:
                cleaned[low:high] -= row[_MARGIN + low - start : _MARGIN + high - start]
    return cleaned


def envelope(level: Floats, hop: int, buzz: Buzz) -> Floats:
    """Give, for each value of *level*, the median of all values at its phase of the mains.

    Parameters
    ----------
    level
        Levels at every *hop* samples, about 1 where there is only hiss; shape (n,).

    Returns
    -------
    array
        Shape (n,), 1 and more.
    """
    at = hop * np.arange(len(level))
    bins = max(8, round(buzz.period / hop))
    place = np.interp(at, buzz.starts, np.arange(len(buzz.starts)))
    phase = np.floor((place % 1.0) * bins).astype(int) % bins
    order = np.argsort(phase, kind="stable")
    edges = np.searchsorted(phase[order], np.arange(bins + 1))
    middle = np.ones(bins)
    for one in range(bins):
        inside = level[order[edges[one] : edges[one + 1]]]
        if len(inside):
            middle[one] = np.median(inside)
    wide = np.maximum(np.maximum(middle, np.roll(middle, 1)), np.roll(middle, -1))
    return np.asarray(np.maximum(wide, 1.0)[phase])


def log_power(passed: Floats, hop: int) -> Floats:
    """The logarithm of the mean power of each *hop* samples, shape (n // hop,)."""
    count = len(passed) // hop
    power = np.mean(passed[: count * hop].reshape(count, hop) ** 2, axis=1)
    floor = 1e-6 * float(np.mean(power)) + 1e-30
    return np.asarray(np.log(power + floor))


def _strength(power: Floats, hops: float, nominal: float) -> tuple[float, float, int]:
    """The frequency whose multiples carry most, how far they stand out, the strongest one."""
    spectrum = np.abs(np.fft.rfft((power - power.mean()) * np.hanning(len(power)), 8 * len(power)))
    step = hops / (8 * len(power))
    near = np.arange(nominal - REACH_HZ, nominal + REACH_HZ, step / 4)
    beside = np.concatenate(
        [nominal + np.arange(1.0, 9.0, 0.37), nominal - np.arange(1.0, 9.0, 0.37)]
    )
    multiples = np.arange(1, HARMONICS + 1)
    multiples = multiples[multiples * (nominal + 9) < 0.45 * hops]

    def carried(frequencies: Floats) -> Floats:
        bins = np.rint(np.outer(frequencies, multiples) / step).astype(int)
        return np.asarray(spectrum[bins])

    table = carried(near)
    usual = float(np.median(carried(beside)))
    best = int(table.sum(axis=1).argmax())
    strongest = int(table[best].argmax())
    strength = float(np.sort(table[best])[::-1][:4].mean()) / max(usual, 1e-30)
    return float(near[best]), strength, int(multiples[strongest])


def _followed_by_power(power: Floats, hop: int, per_sample: float, harmonic: int) -> Floats:
    """Follow the phase of the strongest harmonic of the power; give where periods begin.

    Parameters
    ----------
    per_sample
        Periods of the mains in a sample.
    """
    count = len(power) * hop
    at = hop * (np.arange(len(power)) + 0.5)
    turn = np.exp(-2j * np.pi * harmonic * per_sample * at)
    pieces = max(4, int(count * per_sample / (1.25 * _TOGETHER)))
    edges = np.linspace(0, len(power), pieces + 1).astype(int)
    level = power - power.mean()
    phasors = np.array([np.sum((level * turn)[a:b]) for a, b in pairwise(edges)])
    middles = np.array([at[a:b].mean() for a, b in pairwise(edges)])
    cycles = np.unwrap(np.angle(phasors)) / (2 * np.pi * harmonic)
    wander = _smooth(middles / count, cycles)
    grid = np.arange(count, dtype=float)[:: max(1, hop)]
    phase = per_sample * grid + wander(grid / count)
    return np.asarray(np.interp(np.arange(np.ceil(phase[0]), phase[-1]), phase, grid))


def _followed_by_shape(
    passed: Floats, starts: Floats, most_lag: float, wander: Callable[[Floats, Floats], Curve]
) -> Floats:
    """Move the starts by the lags of ten periods at a time against the shape of all.

    As long as the lags are not small yet, whole periods are compared, and with those in the middle:
    a shape of all would be smeared. Then only the eighth that holds most is.
    """
    groups = np.array_split(np.arange(len(starts)), max(3, len(starts) // _TOGETHER))
    middle = len(starts) // 2
    if most_lag > _LAST_LAG:
        periods = _rows(passed, starts, int(np.ceil(np.max(np.diff(starts)))))
        template = np.median(periods[middle - _TOGETHER : middle + _TOGETHER], axis=0)
    else:
        length = _slot_length(starts)
        slots = [_rows(passed, _slot(starts, number), length) for number in range(SLOTS)]
        templates = [np.median(rows, axis=0) for rows in slots]
        most = int(np.argmax([np.sum(one**2) for one in templates]))
        periods, template = slots[most], templates[most]
    reach = round(most_lag * _FINE)
    shape = np.fft.rfft(template)
    lags = np.array(
        [
            _lag(np.fft.rfft(np.median(periods[group], axis=0)), shape, len(template), reach)
            for group in groups
        ]
    )
    middles = np.array([group.mean() for group in groups]) / len(starts)
    return starts + wander(middles, lags)(np.arange(len(starts)) / len(starts))


def _lag(
    seen: NDArray[np.complex128], shape: NDArray[np.complex128], length: int, reach: int
) -> float:
    """By how many samples one spectrum's signal comes after another's."""
    likeness = np.fft.irfft(seen * np.conj(shape), length * _FINE)
    near = np.concatenate([likeness[-reach:], likeness[: reach + 1]])
    top = min(max(int(near.argmax()), 1), len(near) - 2)
    below, at, above = near[top - 1 : top + 2]
    bend = below - 2 * at + above
    return float((top - reach + (0.5 * (below - above) / bend if bend < 0 else 0.0)) / _FINE)


def _joined(x: Floats, y: Floats) -> Curve:
    """Join the points by straight lines, each the median of itself and its neighbours."""
    beside = np.pad(y, 1, mode="reflect", reflect_type="odd")
    middle = np.median(np.lib.stride_tricks.sliding_window_view(beside, 3), axis=1)
    slopes = np.diff(middle) / np.diff(x)
    ends = (middle[0] - slopes[0] * x[0], middle[-1] + slopes[-1] * (1.0 - x[-1]))
    xs, ys = np.array([0.0, *x, 1.0]), np.array([ends[0], *middle, ends[1]])
    return lambda at: np.asarray(np.interp(at, xs, ys))


def _smooth(x: Floats, y: Floats) -> Curve:
    """Fit a cubic, then once more without the points farthest from it."""
    degree = min(3, len(x) - 2)
    fitted = np.polynomial.Polynomial.fit(x, y, degree)
    away = np.abs(y - fitted(x))
    kept = away <= np.quantile(away, 0.85)
    if kept.sum() > degree + 1:
        fitted = np.polynomial.Polynomial.fit(x[kept], y[kept], degree)
    return lambda at: np.asarray(fitted(at))


def _slot_length(starts: Floats) -> int:
    return int(np.ceil(np.max(np.diff(starts)) / SLOTS)) + 1


def _slot(starts: Floats, number: int) -> Floats:
    """Where the eighth of this number begins in each period."""
    lengths = np.diff(starts)
    return starts + number / SLOTS * np.append(lengths, lengths[-1])


def _rows(passed: Floats, starts: Floats, length: int) -> Floats:
    """*length* samples from each start on, moved to one grid, with a margin at either side."""
    wide = length + 2 * _MARGIN
    whole = np.floor(starts).astype(int)
    beyond = max(0, int(whole[-1]) + wide - len(passed))
    before = max(0, -int(whole[0])) + _MARGIN
    padded = np.pad(passed, (before, beyond))
    rows = np.lib.stride_tricks.sliding_window_view(padded, wide)[whole + before - _MARGIN]
    return _moved(rows, whole - starts)


def _moved(rows: Floats, samples: Floats) -> Floats:
    """Move each row later by its own part of a sample."""
    turn = np.exp(-2j * np.pi * np.outer(samples, np.fft.rfftfreq(rows.shape[1])))
    return np.asarray(np.fft.irfft(np.fft.rfft(rows, axis=1) * turn, rows.shape[1], axis=1))
