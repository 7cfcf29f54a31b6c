"""Sums and solutions that do not depend on their order, held against a general library."""

import numpy as np

from heelstamp.luminescence import exact


def test_sums_on_the_grid_are_the_same_in_any_order():
    rng = np.random.default_rng(8)
    design = exact.on_grid(rng.normal(0, 3, (14_000, 12)))
    weights = exact.weights_on_grid(rng.random(14_000))
    whole = design.T @ (design * weights[:, None])
    for _ in range(3):
        order = rng.permutation(len(design))
        turned = design[order].T @ (design[order] * weights[order, None])
        assert np.array_equal(turned, whole)
    ordinary = rng.normal(0, 3, (14_000, 12))  # without the grid the last bits differ
    order = rng.permutation(len(ordinary))
    assert not np.array_equal(ordinary.T @ ordinary, ordinary[order].T @ ordinary[order])


def test_elimination_solves_as_a_general_library_does():
    rng = np.random.default_rng(9)
    design = rng.normal(0, 1, (300, 20))
    normal, target = design.T @ design + 0.1 * np.eye(20), rng.normal(0, 1, (20, 3))
    kept = normal.copy(), target.copy()
    found = exact.solve(normal, target)
    np.testing.assert_allclose(found, np.linalg.solve(normal, target), rtol=1e-9)
    assert np.array_equal(normal, kept[0])
    assert np.array_equal(target, kept[1])


def test_a_homography_is_rounded_below_what_a_pixel_shows():
    matrix = 2.0 * np.array([[1.01, 0.02, 13.3], [-0.02, 0.99, -7.7], [1e-6, -2e-6, 1.0]])
    found = exact.homography(matrix)
    assert found[2, 2] == 1.0
    corner = np.array([6000.0, 4000.0, 1.0])
    here, there = found @ corner, matrix @ corner
    assert np.abs(here[:2] / here[2] - there[:2] / there[2]).max() < 1e-3
    assert np.array_equal(exact.homography(matrix * (1 + 1e-15)), found)
