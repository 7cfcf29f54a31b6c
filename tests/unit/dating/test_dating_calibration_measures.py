"""The measures of calibration themselves, on cases whose answer is known."""

import numpy as np
import pytest

from fakes.departing_world import ANOTHER_MECHANISM, FAITHFUL, Departures, draw_world
from fakes.short_form import short_chronology
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, infer_many
from heelstamp.dating.calibration import hit_rates, reliability, wilson


def test_a_truth_drawn_from_its_posterior_is_held_exactly_as_often() -> None:
    rng = np.random.default_rng(1)
    months = rng.dirichlet(np.full(30, 0.1), 20_000)
    truth = (rng.random((20_000, 1)) > np.cumsum(months, axis=1)).sum(axis=1)
    for rate in hit_rates(months, np.minimum(truth, 29)):
        assert rate.exact == pytest.approx(rate.level, abs=0.01)
        assert rate.low < rate.exact < rate.high
        assert rate.printed > rate.exact  # whole months hold more than they say


def test_a_month_in_the_middle_of_the_band_counts_whole_and_one_outside_not() -> None:
    months = np.array([[0.2, 0.6, 0.2], [0.2, 0.6, 0.2], [0.2, 0.6, 0.2]])
    half = hit_rates(months, np.array([0, 1, 2]), (0.5,))[0]
    assert half.exact == pytest.approx((0 + 0.5 / 0.6 + 0) / 3)
    assert half.printed == pytest.approx(1 / 3)
    assert half.width == 1
    never = hit_rates(np.array([[0.0, 1.0]]), np.array([0]))[0]
    assert never.exact == 0


def test_reliability_of_known_probabilities() -> None:
    p = np.repeat([0.15, 0.85], [200, 100])
    happened = np.concatenate([np.arange(200) < 40, np.arange(100) < 85])
    found = reliability(p, happened)
    assert [one.count for one in found.bins] == [200, 100]
    assert [one.frequency for one in found.bins] == pytest.approx([0.2, 0.85])
    assert found.calibration_error == pytest.approx(0.05 * 200 / 300)
    assert found.brier == pytest.approx(((p - happened) ** 2).mean())
    assert found.base_rate == pytest.approx(125 / 300)
    assert reliability(np.array([1.0]), np.array([True])).bins[0].frequency == 1


def test_wilsons_interval_against_published_values() -> None:
    """Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (score), 95 %.

    81 of 263: 0.2553 to 0.3662; 0 of 20: 0 to 0.1611 (values from memory of the table).
    """
    assert wilson(81 / 263, 263, 1.959964) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert wilson(0.0, 20, 1.959964) == pytest.approx((0.0, 0.1611), abs=5e-5)


@pytest.mark.parametrize(
    ("departures", "least_printed"),
    [(FAITHFUL, 0.90), (ANOTHER_MECHANISM, 0.85), (Departures(rectangular_lags=True), 0.85)],
)
def test_ranges_of_another_world_with_the_shipped_tables(
    departures: Departures, least_printed: float
) -> None:
    """Ranges as printed; the exact band is narrower, and docs/methods/calibration.md says so."""
    model = dating_model(short_chronology())
    drawn = draw_world(model, 11, 1500, departures)
    posterior = infer_many(CompiledModel(model), [one.seen for one in drawn])
    truth = np.array([one.completed for one in drawn]) - model.completion.first
    half, most = hit_rates(posterior.months, truth)
    print(  # noqa: T201 - for -s
        f"{departures}: 50 % {half.exact:.3f} printed {half.printed:.3f}, "
        f"90 % {most.exact:.3f} printed {most.printed:.3f}"
    )
    assert most.printed >= least_printed
    if departures is FAITHFUL:
        assert 0.47 <= half.exact <= 0.53
        assert 0.88 <= most.exact <= 0.92
