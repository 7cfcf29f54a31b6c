"""What an all-pole model of the noise cannot predict: the residual in which clicks stand out.

High pass at 2 kHz without phase (hum and the hand lie below), then linear prediction of order 32
by the covariance method (Makhoul 1975), fitted twice: the second time without the samples that the
first could not predict, and those that they would have been predicted from. That is how clicks are
found in old records (Godsill & Rayner 1998, ch. 5). Holds for noise whose colour stays the same
during a take; level may change slowly.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError

Floats = NDArray[np.float64]

EDGE_HZ = 2000.0
ORDER = 32
OUTLIER = 4.0
"""Residuals of more than this many robust standard deviations are left out of the second fit."""
_STEEP = 8  # of the high pass: 48 dB an octave
_BLOCK = 32_768
_RIDGE = 1e-9
MAD = 1.4826  # median absolute deviation to standard deviation of a normal distribution


def high_pass(samples: NDArray[np.floating], rate_hz: float, edge_hz: float = EDGE_HZ) -> Floats:
    """Take away what lies below *edge_hz* (half amplitude there), without delay.

    Parameters
    ----------
    samples
        Shape (n,).
    """
    pad = round(0.02 * rate_hz)
    x = np.pad(np.asarray(samples, float), pad, mode="reflect" if len(samples) > pad else "edge")
    frequency = np.fft.rfftfreq(len(x), 1.0 / rate_hz)
    gain = 1.0 / (1.0 + (edge_hz / np.maximum(frequency, 1e-9)) ** _STEEP)
    passed = np.fft.irfft(np.fft.rfft(x) * gain, len(x))
    return np.asarray(passed[pad : pad + len(samples)])


def robust_spread(values: Floats) -> float:
    """A standard deviation that a few clicks do not move."""
    return float(MAD * np.median(np.abs(values - np.median(values))))


def predictor(samples: Floats, use: NDArray[np.bool_] | None = None, order: int = ORDER) -> Floats:
    """Fit the coefficients that predict each sample from the *order* before it.

    Parameters
    ----------
    samples
        Shape (n,).
    use
        Samples that count, shape (n,); a sample is fitted when it and all before it count.

    Returns
    -------
    array
        Shape (order,), the nearest sample first.
    """
    rows = len(samples) - order
    if rows < 4 * order:
        raise InputError(
            "too short to tell its noise",
            received=f"{len(samples)} samples",
            remedy="Record at least a second.",
        )
    window = np.lib.stride_tricks.sliding_window_view(samples, order + 1)
    kept = np.ones(rows, bool)
    if use is not None:
        bad = np.concatenate([[0], np.cumsum(~use)])
        kept = bad[order + 1 :] == bad[: -order - 1]
        if kept.sum() < 4 * order:
            kept[:] = True
    gram = np.zeros((order + 1, order + 1))
    for start in range(0, rows, _BLOCK):
        block = window[start : start + _BLOCK][kept[start : start + _BLOCK]]
        gram += block.T @ block
    past = gram[:-1, :-1] + _RIDGE * np.trace(gram) / (order + 1) * np.eye(order)
    return np.asarray(np.linalg.solve(past, gram[:-1, -1])[::-1])


def residual(samples: Floats, order: int = ORDER) -> Floats:
    """What cannot be predicted, shape (n,); the first *order* samples are nothing."""
    error = _unforetold(samples, predictor(samples, order=order))
    spread = robust_spread(error[order:])
    usual = np.abs(error) <= OUTLIER * spread
    return _unforetold(samples, predictor(samples, usual, order))


def _unforetold(samples: Floats, coefficients: Floats) -> Floats:
    order = len(coefficients)
    kernel = np.concatenate([[1.0], -coefficients])
    error = np.convolve(samples, kernel)[: len(samples)]
    error[:order] = 0.0
    return np.asarray(error)
