"""Patent numbers against published grant days.

Sources, row by row in ``patent_grants``: the patent office's pages on its millions, a history of
the bar code (US 2,612,994, 7 October 1952), two pages on the cross-recess screw, a timeline page.
A number must never be read as later than its published grant, and one granted on a published day
must be read to that month. The timeline page gives 4,136,359 as 1989; the table shows the slip.
"""

from datetime import date

import pytest

from heelstamp.marks import PatentTable, read
from heelstamp.marks.patent import read_patent
from heelstamp.reference.tables import load, mark_context, patent_table
from heelstamp.units import parse_month

CONTEXT = mark_context()
GRANTS = [row for row in load("patent_grants") if row["evidence"] == "yes"]
FIRST_NUMBERS = [
    row
    for row in load("patent_first_numbers")
    if row["series"] == "utility" and row["evidence"] == "yes" and int(row["year"]) > 1925
]  # readings begin in 1925, so the number before the first of 1925 has no month to be read to


@pytest.mark.parametrize("row", GRANTS, ids=lambda row: row["number"])
def test_checked_grant_is_read_to_its_month(row):
    answer = read(f"PAT. NO. {int(row['number']):,}", "patent", CONTEXT)
    first = row["granted"][:7] if len(row["granted"]) > 4 else f"{row['granted']}-01"
    assert max(one.period.first for one in answer.evidence) == parse_month(first)


@pytest.mark.parametrize("row", GRANTS, ids=lambda row: row["number"])
def test_first_numbers_alone_give_the_year_of_the_grant(row):
    # The grant itself is taken out of the table: the first numbers of the years must contain it.
    years = PatentTable(
        utility=tuple(one for one in patent_table().utility if one.basis.startswith("first of"))
    )
    answer = read_patent(row["number"], years, span=CONTEXT.span, design=False)
    latest = max(one.period.first for one in answer.readings)
    assert latest == parse_month(f"{row['granted'][:4]}-01")
    assert max(one.period.first for one in answer.evidence) <= latest


@pytest.mark.parametrize("row", FIRST_NUMBERS, ids=lambda row: row["year"])
def test_the_first_number_of_a_year_and_the_one_before_it(row):
    number, year = int(row["first_number"]), int(row["year"])
    answer = read(str(number), "patent", CONTEXT)
    assert max(one.period.first for one in answer.evidence) == parse_month(f"{year}-01")
    before = read(str(number - 1), "patent", CONTEXT)
    assert max(one.period.first for one in before.readings) < parse_month(f"{year}-01")


def test_whole_days_are_days_of_issue():
    # United States patents are issued on Tuesdays.
    days = [row["granted"] for row in load("patent_grants") if len(row["granted"]) > 4]
    assert {date.fromisoformat(day).strftime("%A") for day in days} == {"Tuesday"}


def test_the_slip_on_the_timeline_page_is_caught():
    answer = read("4,136,359", "patent", CONTEXT)
    assert max(one.period.first for one in answer.readings) == parse_month("1979-01")
