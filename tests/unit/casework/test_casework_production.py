"""Ranges are cut at production; what lies outside is told by itself; the figures agree."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.wherry_examinations import dated, look, observed, wherry
from heelstamp.casework.dating.production import OUTSIDE_MOST, cut, production_of
from heelstamp.dating import central_interval, median
from heelstamp.units import MonthGrid, Period, parse_month
from heelstamp.wording import about_dates

WHERRY = production_of(wherry())
GRID = MonthGrid.parse("1940-01", "1979-12")


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.floats(0, 1), min_size=len(GRID), max_size=len(GRID)),
    st.integers(0, len(GRID) - 1),
    st.integers(0, len(GRID) - 1),
)
def test_every_figure_lies_in_production_and_in_the_range(
    weights: list[float], one: int, other: int
) -> None:
    months = np.array(weights) + 1e-12
    months /= months.sum()
    production = Period(GRID.first + min(one, other), GRID.first + max(one, other))
    inside = cut(months, GRID, production)
    own = months[min(one, other) : max(one, other) + 1].sum()
    assert inside.outside == pytest.approx(1 - own, abs=1e-9)
    if inside.outside == 1.0:
        return
    assert inside.months.sum() == pytest.approx(1)
    ninety, half = (central_interval(inside.months, GRID, level) for level in (0.9, 0.5))
    assert production.first <= ninety.first <= half.first
    assert half.last <= ninety.last <= production.last
    assert median(inside.months, GRID) in half


@settings(max_examples=12, deadline=None)
@given(st.sets(st.sampled_from([one["id"] for one in observed("outside-only")])))
def test_any_choice_of_looks_is_told_within_production(left: set[str]) -> None:
    found = dated([one for one in observed("outside-only") if one["id"] not in left])
    told = found.completion
    assert (told.outside > OUTSIDE_MOST) <= bool(told.withheld)
    for interval in told.interval.values():
        if interval is not None:
            assert WHERRY.first <= parse_month(interval[0]) <= parse_month(interval[1])
            assert parse_month(interval[1]) <= WHERRY.last
    assert all(parse_month(month) in WHERRY for month in told.months)
    assert parse_month(told.prior.interval["90"][0]) >= WHERRY.first


def test_a_date_outside_production_is_not_determined_until_settled() -> None:
    """Marks of the year after the last on three parts: the model or the chronology is wrong."""
    late = [{"period": "1970-05", "weight": 1.0}]
    found = dated([look(part, part, "mark", readings=late) for part in ("body", "neck", "finish")])
    assert found.completion.outside > OUTSIDE_MOST
    assert found.completion.median is None
    assert any("outside the years of production" in one for one in found.completion.withheld or ())


@pytest.mark.parametrize(
    ("interval", "words"),
    [
        (("1965-01", "1965-01"), "more than half of it in Jan 1965"),
        (("1964-12", "1965-02"), "half of it Dec 1964 to Feb 1965"),
        (("1965-05", "1965-09"), "half of it May to Sep 1965"),
    ],
)
def test_the_half_range_is_told_as_it_was_computed(interval: tuple[str, str], words: str) -> None:
    assert about_dates.half_of(Period.parse(list(interval))) == words
