"""Times that run back: what is noted, and which times no other contradicts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.catalogue.clock import ran_back, unsure_times

DAY = "2026-11-0{}T09:00:00Z"


@pytest.mark.parametrize(
    ("times", "unsure"),
    [
        ((), ()),
        ((DAY.format(1), DAY.format(2), DAY.format(2)), ()),
        ((DAY.format(2), "2026-11-02T08:59:00Z"), ()),  # two writers' clocks
        ((DAY.format(1), "2020-01-01T00:00:00Z", DAY.format(3)), (0, 1)),
        ((DAY.format(1), "2099-01-01T00:00:00Z", DAY.format(3)), (1, 2)),
        (("2099-01-01T00:00:00Z", DAY.format(1), DAY.format(2)), (0, 1, 2)),
        (("", DAY.format(2), "", DAY.format(1)), (1, 3)),
    ],
)
def test_what_contradicts_another_is_unsure(
    times: tuple[str, ...], unsure: tuple[int, ...]
) -> None:
    assert unsure_times(times) == frozenset(unsure)


@given(st.lists(st.integers(1, 28), max_size=12))
def test_those_left_never_run_back(days: list[int]) -> None:
    times = [f"2026-11-{day:02d}T09:00:00Z" for day in days]
    unsure = unsure_times(times)
    sure = [day for place, day in enumerate(days) if place not in unsure]
    assert sure == sorted(sure)
    assert bool(unsure) == (days != sorted(days))


def test_a_clock_runs_back_by_more_than_writers_differ() -> None:
    assert not ran_back("2026-11-02T09:14:00Z", "2026-11-02T09:12:00Z")
    assert ran_back("2026-11-02T09:14:00Z", "2026-11-02T09:11:59.9Z")
    assert not ran_back("2026-11-02T09:14:00Z", "2099-01-01T00:00:00Z")
