"""Regression of the three glow values that patches do not bend, and that one patch cannot hide.

Tukey's biweight (Beaton and Tukey, Technometrics 16 (1974) 147-185) on weights shared by the three
targets, found from Huber's (Huber, Annals of Mathematical Statistics 35 (1964) 73-101). A veil near
the rim of a body is where a smooth surface bends most easily, so that the first minimum found may
have taken it for lamp. The fit is therefore begun again with the coat under each disc of a grid
left out (case deletion: Cook, Technometrics 19 (1977) 15-18), and the start that ends lowest in the
same objective wins. Stops holding where half of the coat or more differs.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import exact

Numbers = NDArray[np.float64]
TUKEY, HUBER = 3.0, 1.345
"""Ends of the biweight and of Huber's square, in root mean squares of three scaled residuals;
3.0 there is 5.2 in their length, and was chosen on the tuning styles."""
LEAST_SCALE = 0.008
HUBER_TURNS, TURNS = 6, 18
DISC_MM, GRID_MM = 50.0, 30.0
LEAST_LEFT_OUT, MOST_LEFT_OUT = 0.008, 0.35
DELETION_SAMPLES, BEST_STARTS, ROUNDS = 1700, 3, 2
BETTER = 1e-4


def solve(design: Numbers, target: Numbers, penalty: Numbers, weights: Numbers) -> Numbers:
    """The coefficients (terms, targets) of weighted least squares with a penalty.

    Design, target and weights on the grid of ``exact`` give the same bits on every processor.
    """
    weighted = design * weights[:, None]
    return exact.solve(design.T @ weighted + penalty, weighted.T @ target)


def robust(
    design: Numbers,
    target: Numbers,
    ridge: Numbers,
    *,
    start: Numbers | None = None,
    places_mm: Numbers | None = None,
) -> tuple[Numbers, Numbers]:
    """Fit all targets with weights that they share.

    Parameters
    ----------
    design, target
        (n, terms) and (n, targets).
    ridge
        Penalty of each term, per sample.
    start
        Weights to begin with; Huber's come first when None.
    places_mm
        (n, 2): where the samples lie, for starts with a disc left out; none when None.

    Returns
    -------
    tuple
        Coefficients (terms, targets) and the weights (n,).
    """
    design, target = exact.on_grid(design), exact.on_grid(target)
    penalty: Numbers = np.diag(ridge * len(design))
    weights = np.ones(len(design)) if start is None else exact.weights_on_grid(start)
    coefficients: NDArray[Any] = np.zeros((design.shape[1], target.shape[1]))
    scale = np.ones(target.shape[1])
    for turn in range(TURNS):
        coefficients = solve(design, target, penalty, weights)
        left = np.abs(target - design @ coefficients)
        scale = np.maximum(1.4826 * np.median(left, axis=0), LEAST_SCALE)
        far = _far(left, scale)
        weights = (
            exact.weights_on_grid(np.minimum(1.0, HUBER / np.maximum(far, 1e-9)))
            if start is None and turn < HUBER_TURNS
            else _biweight(far)
        )
    if places_mm is None:
        return coefficients, weights
    return _begun_again(
        design, target, penalty, (coefficients, weights), scale=scale, places_mm=places_mm
    )


def _begun_again(
    design: Numbers,
    target: Numbers,
    penalty: Numbers,
    first: tuple[Numbers, Numbers],
    *,
    scale: Numbers,
    places_mm: Numbers,
) -> tuple[Numbers, Numbers]:
    """Try starts with one disc left out each, at a fixed scale; twice, since veils come in twos."""
    every = max(1, len(design) // DELETION_SAMPLES)
    some = slice(None, None, every)
    few, few_target, few_places = design[some], target[some], places_mm[some]
    best = first
    for _ in range(ROUNDS):
        starts: list[tuple[float, int, Numbers]] = []
        lowest = _objective(few, few_target, best[0], scale)
        for disc in _discs(few_places):
            tried = solve(few, few_target, penalty / every, best[1][some] * ~disc)
            starts.append((_objective(few, few_target, tried, scale), len(starts), tried))
        ends = [
            _settled(few, few_target, penalty / every, tried, scale)[0]
            for _, _, tried in sorted(starts, key=lambda one: one[:2])[:BEST_STARTS]
        ]
        chosen = min(ends, key=lambda one: _objective(few, few_target, one, scale), default=best[0])
        if _objective(few, few_target, chosen, scale) > lowest - BETTER:
            break
        tried_all = _settled(design, target, penalty, chosen, scale)
        reached = _objective(design, target, tried_all[0], scale)
        if reached > _objective(design, target, best[0], scale) - BETTER:
            break
        best = tried_all
    return best


def _settled(
    design: Numbers, target: Numbers, penalty: Numbers, coefficients: Numbers, scale: Numbers
) -> tuple[Numbers, Numbers]:
    """Go on from coefficients to the minimum beside them, at a fixed scale."""
    weights = np.ones(len(design))
    for _ in range(HUBER_TURNS):
        weights = _biweight(_far(np.abs(target - design @ coefficients), scale))
        coefficients = solve(design, target, penalty, weights)
    return coefficients, weights


def _discs(places_mm: Numbers) -> list[NDArray[np.bool_]]:
    """The samples in each disc of the grid, where they are a fair part of all."""
    low, high = places_mm.min(axis=0), places_mm.max(axis=0)
    found = []
    for x in np.arange(low[0], high[0] + 1, GRID_MM):
        for y in np.arange(low[1], high[1] + 1, GRID_MM):
            inside = ((places_mm - (x, y)) ** 2).sum(axis=1) < DISC_MM**2
            if LEAST_LEFT_OUT < inside.mean() < MOST_LEFT_OUT:
                found.append(inside)
    return found


def _far(left: Numbers, scale: Numbers) -> Numbers:
    scaled = left / scale
    return np.asarray(np.sqrt(np.einsum("ij,ij->i", scaled, scaled) / scaled.shape[1]), dtype=float)


def _biweight(far: Numbers) -> Numbers:
    return exact.weights_on_grid(np.clip(1 - (far / TUKEY) ** 2, 0, None) ** 2)


def _objective(design: Numbers, target: Numbers, coefficients: Numbers, scale: Numbers) -> float:
    """Tukey's loss, mean over samples, one where a sample is left out."""
    far = _far(np.abs(target - design @ coefficients), scale)
    return float(np.where(far < TUKEY, 1 - (1 - (far / TUKEY) ** 2) ** 3, 1.0).mean())
