"""A plucked string over frets, solved on a grid in space and time: nothing of the engine.

The wave equation y_tt = c² y_xx with fixed ends, by central differences with c Δt = Δx, where the
scheme is exact at the points of the grid (any handbook of numerical analysis). The string starts
from rest in a triangle, once pulled away from the board and once toward it; over one period the
lowest point over each fret is kept. A fret is met where it lies below the fret's top.
"""

import numpy as np
from numpy.typing import NDArray

POINTS = 250


def lowest(length: float, peak: float, height: float) -> tuple[NDArray, NDArray]:
    """Places from the held end, and how far the string goes below its rest line there."""
    x = np.linspace(0.0, length, POINTS + 1)
    at = length - peak
    shape = height * np.where(x <= at, x / at, (length - x) / (length - at))
    deepest = np.zeros_like(x)
    for sign in (1.0, -1.0):
        now, before = sign * shape, sign * shape
        # the first step from rest is the mean of the neighbours
        after = np.zeros_like(now)
        after[1:-1] = 0.5 * (now[2:] + now[:-2])
        deepest = np.minimum(deepest, np.minimum(now, after))
        before, now = now, after
        for _ in range(2 * POINTS):
            after = np.zeros_like(now)
            after[1:-1] = now[2:] + now[:-2] - before[1:-1]
            before, now = now, after
            deepest = np.minimum(deepest, now)
    return x, -deepest


def margins(
    scale: float, tops: NDArray, ends: tuple[float, float], plucked: tuple[float, float], held: int
) -> NDArray:
    """Least distance of the moving string from each fret beyond *held*, mm.

    *tops*: heights of all fret tops; *ends*: of the open string at nut and saddle; *plucked*:
    height on the open string and place before the saddle.
    """
    amplitude, pluck = plucked
    places = scale * (1.0 - 2.0 ** (-np.arange(len(tops) + 1) / 12.0))
    start = ends[0] if held == 0 else tops[held - 1]
    length = scale - places[held]
    peak = min(pluck, length / 2.0)
    # one force: height goes with p (l - p) / l
    whole = pluck * (scale - pluck) / scale
    height = amplitude * (peak * (length - peak) / length) / whole
    x, depth = lowest(length, peak, height)
    beyond = places[held + 1 :] - places[held]
    rest = start + (ends[1] - start) * beyond / length
    return rest - np.interp(beyond, x, depth) - tops[held:]
