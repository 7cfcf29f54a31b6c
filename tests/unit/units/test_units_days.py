"""A day is written one way: ISO 8601-1:2019, 5.2.2.1, the extended form of a calendar date."""

from datetime import date

import pytest

from heelstamp.errors import InputError
from heelstamp.units import read_day


def test_a_day_of_the_calendar_is_read() -> None:
    assert read_day("2024-02-29", "day") == date(2024, 2, 29)


@pytest.mark.parametrize(
    "text", ["20261102", "2026-W45-1", "2026-11-2", "2025-02-29", "2.11.2026", "", "2026-11-02 "]
)
def test_another_form_or_no_such_day_is_refused(text: str) -> None:
    """The basic form and weeks are ISO 8601 too, but they do not sort among the others."""
    with pytest.raises(InputError, match="not a day"):
        read_day(text, "field day")
