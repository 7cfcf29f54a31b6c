"""Money of one year in that of another.

Source: the worked example in the documentation of the Python package cpi 2.1.0 (bibliography:
bls_cpi_u): 100 dollars of 1950 in dollars of 1960, from annual averages 24.1 and 29.6.
"""

import pytest

from heelstamp.errors import InputError
from heelstamp.reference.market import consumer_index
from heelstamp.reference.tables import load
from heelstamp.units import parse_month


def test_the_published_example() -> None:
    assert consumer_index().between_years(100, 1950, 1960) == 122.82157676348547


def test_there_and_back() -> None:
    index = consumer_index()
    there = index.between_months(9100, parse_month("1965-06"), parse_month("2024-01"))
    assert index.between_months(there, parse_month("2024-01"), parse_month("1965-06")) == (
        pytest.approx(9100, rel=1e-12)
    )
    levels = {row["month"]: float(row["index"]) for row in load("cpi_u_monthly")}
    assert there == pytest.approx(9100 * levels["2024-01"] / levels["1965-06"], rel=1e-12)


def test_a_month_never_published_lies_between_its_neighbours() -> None:
    index = consumer_index()
    assert parse_month("2025-10") not in index.months
    before, gap, after = (
        index.between_months(100, parse_month("2025-01"), parse_month(one))
        for one in ("2025-09", "2025-10", "2025-11")
    )
    assert gap == pytest.approx((before * after) ** 0.5, rel=1e-12)


def test_months_after_the_last_take_its_level_and_before_the_first_are_refused() -> None:
    index = consumer_index()
    last = index.known_to
    assert index.between_months(100, last, last + 7) == pytest.approx(100, rel=1e-12)
    with pytest.raises(InputError, match="before the first month") as caught:
        index.between_months(100, parse_month("1944-12"), last)
    assert caught.value.received == "1944-12"
    with pytest.raises(InputError, match="no such year"):
        index.between_years(100, 1950, 2099)
