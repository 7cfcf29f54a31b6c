"""Months, periods and grids."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.units import MonthGrid, Period, format_month, name_month, parse_month

months = st.integers(min_value=12 * 1000, max_value=12 * 9999 + 11)


@given(months)
def test_writing_and_reading_a_month_are_inverse(month: int) -> None:
    assert parse_month(format_month(month)) == month


@pytest.mark.parametrize(
    "text", ["", "1965", "1965-3", "1965-13", "1965-00", "65-03", "1965-03-01"]
)
def test_what_is_no_month_is_refused_with_the_form(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_month(text, where="field period")
    assert caught.value.where == "field period"
    assert caught.value.remedy


def test_a_lag_is_a_difference() -> None:
    assert parse_month("1965-03") - parse_month("1964-12") == 3


@given(months, st.integers(0, 400))
def test_a_period_holds_its_ends_and_counts_them(first: int, more: int) -> None:
    period = Period(first, first + more)
    assert len(period) == more + 1
    assert first in period
    assert first + more in period
    assert first - 1 not in period


def test_a_period_that_runs_backwards_is_refused() -> None:
    with pytest.raises(InputError, match="ends before it begins"):
        Period.parse(["1965-08", "1965-03"], where="reading 1")
    with pytest.raises(InputError, match="one month or two"):
        Period.parse(["1965-01", "1965-02", "1965-03"])


def test_periods_are_written_for_readers_and_for_contracts() -> None:
    assert str(Period.parse("1965-03")) == "Mar 1965"
    assert str(Period.parse(["1965-03", "1965-08"])) == "Mar 1965 to Aug 1965"
    assert Period.parse(["1965-03", "1965-08"]).iso() == ["1965-03", "1965-08"]
    assert Period.of_year(1965).iso() == ["1965-01", "1965-12"]
    assert name_month(parse_month("1965-12")) == "Dec 1965"


def test_a_grid_finds_its_months_and_refuses_others() -> None:
    grid = MonthGrid.parse("1930-01", "1985-12")
    assert len(grid) == 672
    assert grid.index(parse_month("1930-01")) == 0
    assert grid.index(parse_month("1985-12")) == 671
    assert next(iter(grid)) == grid.first
    with pytest.raises(InputError, match="outside the grid"):
        grid.index(parse_month("1986-01"))
