"""Source-date codes against the published examples.

Sources, row by row in ``source_date_examples``: the standards body's page on source codes
(ecianow.org/eia-source-codes: 113-9910 is the week of 7-13 March 1999; "00" is 2000), an article
on tube amplifiers (304728 read as 1967 week 28), a page on organ components (285642, 190-7215);
the rest worked by hand from the page's form and week anchor.
"""

import re

import pytest

from heelstamp.marks import read
from heelstamp.marks.weeks import week_days
from heelstamp.reference.tables import load, mark_context
from heelstamp.units import Period

EXAMPLES = load("source_date_examples")


def read_years(answer):
    return {int(re.search(r" as (\d{4}), week", one.detail)[1]) for one in answer.readings}


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["text"])
def test_published_example(row):
    answer = read(row["text"], "source-date", mark_context())
    years = {int(year) for year in row["years"].split(";") if year}
    assert read_years(answer) == years
    assert all(f"source {row['maker_code']} " in one.detail for one in answer.readings)
    if row["verdict"] == "rejected":
        assert any(row["note"] in one.reason for one in answer.rejections)
    elif row["verdict"].startswith("rejected if claimed"):
        first, last = row["verdict"].rsplit(" ", 1)[1].split("-")
        claimed = Period.parse([f"{first}-01", f"{last}-12"])
        turned_down = read(row["text"], "source-date", mark_context(claimed=claimed))
        assert not turned_down.readings
        assert any("claimed" in one.reason for one in turned_down.rejections)


@pytest.mark.parametrize(
    "row", [row for row in EXAMPLES if row["days"]], ids=lambda row: row["text"]
)
def test_published_days_of_the_week(row):
    years = [int(year) for year in row["years"].split(";")]
    days = ["/".join(day.isoformat() for day in week_days(y, int(row["week"]))) for y in years]
    assert days == row["days"].split(";")


def test_week_of_1999_is_not_the_iso_week():
    # ISO 8601 week 10 of 1999 begins on Monday 8 March; the published one on Sunday 7 March.
    assert week_days(1999, 10)[0].isoformat() == "1999-03-07"


def test_editions_are_the_published_ones():
    from heelstamp.marks.source_table import EDITIONS

    assert tuple(int(row["year"]) for row in load("source_code_editions")) == EDITIONS
