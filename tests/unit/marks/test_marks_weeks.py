"""Weeks of the code."""

import pytest

from heelstamp.marks.weeks import month_shares, week_days
from heelstamp.units import format_month


def test_weeks_run_on_without_gap_or_overlap():
    for year in range(1946, 2012):
        first = week_days(year, 1)[0]
        assert first.isoweekday() == 7
        assert (week_days(year + 1, 1)[0] - first).days in (364, 371)


def test_shares_add_to_one():
    for week in range(1, 54):
        assert sum(share for _, share in month_shares(1956, week, 0.25)) == pytest.approx(1.0)


def test_a_known_split():
    # Week 18 of 1965 is 2 to 8 May by the anchor; 25 April to 1 May has one day in May.
    assert [day.isoformat() for day in week_days(1965, 18)] == ["1965-05-02", "1965-05-08"]
    shares = {format_month(month): share for month, share in month_shares(1965, 18, 0.25)}
    assert shares == pytest.approx({"1965-04": 0.25 * 6 / 7, "1965-05": 1 - 0.25 * 6 / 7})
