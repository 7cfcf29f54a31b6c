"""Radius of a fingerboard against a table of segments, and against a circle through three points.

Source of the table: segments of circles of radius 1, as printed in handbooks for machinists
(chord and height by central angle; figures from memory, to four places). No table of fret wire
that is not a maker's own was found: limits of height and width are common practice, no source.
"""

import numpy as np
import pytest

from heelstamp.mechanics.estimate import exact
from heelstamp.mechanics.fret_life import board_radius_mm

SEGMENTS = ((10, 0.1743, 0.0038), (20, 0.3473, 0.0152), (30, 0.5176, 0.0341), (40, 0.6840, 0.0603))


@pytest.mark.parametrize(("degrees", "chord", "height"), SEGMENTS)
def test_segments_of_the_handbook_give_their_radius_back(degrees, chord, height):
    radius = 184.0
    found = board_radius_mm(exact(chord * radius), exact(height * radius)).value
    by_rounding = 0.00005 / height + 2 * 0.00005 / chord  # the table has four places
    assert found == pytest.approx(radius, rel=by_rounding), degrees


@pytest.mark.parametrize("radius", [120.0, 184.2, 241.3, 305.0, 406.4, 508.0])
def test_a_circle_fitted_to_three_points_of_the_arc_has_the_same_radius(radius):
    half = 21.0
    rise = radius - np.sqrt(radius**2 - half**2)
    x, y = np.array([-half, 0.0, half]), np.array([0.0, rise, 0.0])
    # x² + y² + a x + b y + c = 0 through three points
    a, b, c = np.linalg.solve(np.column_stack([x, y, np.ones(3)]), -(x**2 + y**2))
    fitted = np.sqrt((a**2 + b**2) / 4 - c)
    assert board_radius_mm(exact(2 * half), exact(rise)).value == pytest.approx(fitted, rel=1e-9)
