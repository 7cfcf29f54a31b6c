"""The serial curve learned from dated instruments: planted curves come back, and always rise."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.dating.serial_learning import curve, learn_serials, rising

KNOTS = (np.array([100.0, 1000.0, 4000.0, 5000.0]), np.array([10.0, 40.0, 60.0, 110.0]))


def census(count: int, sd: float, blur: float, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Numbers about the planted curve, and what is known of each date."""
    rng = np.random.default_rng(seed)
    numbers = np.sort(rng.integers(100, 5000, count)).astype(float)
    true = curve(*KNOTS, numbers) + rng.normal(0, sd, count)
    seen = true + rng.normal(0, blur, count)
    months = np.arange(140)
    dates = np.exp(-0.5 * ((months - seen[:, None]) / blur) ** 2)
    return numbers, dates / dates.sum(axis=1, keepdims=True)


@pytest.mark.parametrize("sd", [2.0, 5.0])
@pytest.mark.parametrize("blur", [1.0, 3.0])
def test_a_planted_curve_and_its_scatter_come_back(sd: float, blur: float) -> None:
    numbers, dates = census(400, sd, blur)
    found = learn_serials(numbers, dates, 0, np.ones(400))
    assert found is not None
    at = np.linspace(200, 4900, 50)
    assert np.abs(curve(found.numbers, found.months, at) - curve(*KNOTS, at)).max() < 5
    assert found.scatter == pytest.approx(sd, rel=0.25)
    assert found.count == 400


def test_plates_from_elsewhere_weigh_little() -> None:
    numbers, dates = census(200, 2.0, 1.0)
    wild = dates.copy()
    wild[::10] = np.eye(140)[0]
    original = np.where(np.arange(200) % 10 == 0, 0.02, 1.0)
    found, plain = (
        learn_serials(numbers, wild, 0, original),
        learn_serials(numbers, wild, 0, np.ones(200)),
    )
    assert found is not None
    assert plain is not None
    at = np.linspace(300, 4800, 30)
    error = np.abs(curve(found.numbers, found.months, at) - curve(*KNOTS, at)).mean()
    assert error < 2.5
    assert error < np.abs(curve(plain.numbers, plain.months, at) - curve(*KNOTS, at)).mean()


def test_too_few_for_two_knots() -> None:
    numbers, dates = census(15, 2.0, 1.0)
    assert learn_serials(numbers, dates, 0, np.ones(15)) is None


@settings(max_examples=50, deadline=None, derandomize=True, database=None)
@given(st.lists(st.floats(-50, 50), min_size=1, max_size=30), st.integers(0, 9))
def test_pooling_rises_and_keeps_the_mean(values: list[float], seed: int) -> None:
    weights = np.random.default_rng(seed).uniform(0.1, 2, len(values))
    found = rising(np.array(values), weights)
    assert (np.diff(found) >= -1e-9).all()
    assert found @ weights == pytest.approx(np.array(values) @ weights, abs=1e-6)
    if (np.diff(values) > 0).all():
        assert found == pytest.approx(values)
