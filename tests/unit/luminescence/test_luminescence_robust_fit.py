"""The robust regression: what lies apart stays out, a veil in a corner is not taken for lamp."""

import numpy as np
import pytest

from heelstamp.luminescence import robust_fit

X, Y = (v.ravel() for v in np.meshgrid(np.arange(0, 400, 5.0), np.arange(0, 300, 5.0)))
PLACES = np.column_stack([X, Y])
U, V = X / 200 - 1, Y / 200 - 0.75
DESIGN = np.column_stack([U ** (n - k) * V**k for n in range(5) for k in range(n + 1)])
RIDGE = np.r_[0.0, np.full(DESIGN.shape[1] - 1, 1e-4)]
LAMP = -0.4 * U**2 - 0.3 * V**2 + 0.15 * U - 0.1 * U * V


def glow(change=0.0, noise=0.02, seed=4):
    target = np.zeros((len(X), 3))
    target[:, 0] = LAMP + change
    return target + noise * np.random.default_rng(seed).standard_normal(target.shape)


def veil(x, y, radius, depth):
    away = np.hypot(X - x, Y - y)
    return depth / (1 + np.exp((away - radius) / 6.0))


def test_without_anything_apart_it_is_the_lamp():
    target = glow()
    coefficients, weights = robust_fit.robust(DESIGN, target, RIDGE, places_mm=PLACES)
    assert np.abs(DESIGN @ coefficients[:, 0] - LAMP).max() < 0.02
    assert weights.mean() > 0.6


def test_a_patch_keeps_its_whole_depth():
    change = np.where(np.hypot(X - 150, Y - 150) < 40, -0.6, 0.0)
    coefficients, weights = robust_fit.robust(DESIGN, glow(change), RIDGE)
    assert np.abs(DESIGN @ coefficients[:, 0] - LAMP).max() < 0.03
    assert weights[change < 0].max() < 0.01


@pytest.mark.parametrize(("x", "y"), [(360, 260), (40, 30), (370, 40)])
def test_a_veil_in_a_corner_is_seen_once_discs_are_left_out(x, y):
    change = veil(x, y, 45.0, -0.3)
    target = glow(change)
    inside = change < -0.24
    kept = {}
    for name, places in (("as it falls", None), ("begun again", PLACES)):
        coefficients, _ = robust_fit.robust(DESIGN, target, RIDGE, places_mm=places)
        left = (target[:, 0] - DESIGN @ coefficients[:, 0])[inside]
        kept[name] = float(np.median(left)) / -0.3
    assert kept["begun again"] > 0.7
    assert kept["as it falls"] < kept["begun again"] - 0.05


def test_the_same_samples_give_the_same_coefficients():
    target = glow(veil(360, 260, 60.0, -0.16))
    one = robust_fit.robust(DESIGN, target, RIDGE, places_mm=PLACES)[0]
    two = robust_fit.robust(DESIGN, target, RIDGE, places_mm=PLACES)[0]
    assert np.array_equal(one, two)
