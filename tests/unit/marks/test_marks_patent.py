"""Patent numbers: not earlier than the grant; from memory shown, never evidence."""

import pytest

from heelstamp.marks import PatentAnchor, PatentTable, read
from heelstamp.marks.patent import read_patent
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period, parse_month

CONTEXT = mark_context()
SPAN = Period.parse(["1925-01", "2025-12"])


def anchor(number, month, evidence=True):
    return PatentAnchor(number, parse_month(month), evidence, "a source", "a row")


TABLE = PatentTable(
    utility=(
        anchor(2_000_000, "1935-04"),
        anchor(2_500_000, "1950-01", evidence=False),
        anchor(3_000_000, "1961-09"),
    ),
    design=(anchor(180_000, "1957-01", evidence=False),),
)


def test_the_greatest_checked_number_below_bounds_the_grant():
    answer = read_patent("PAT. 2,700,123", TABLE, span=SPAN, design=False)
    assert [(one.period.first, one.weight) for one in answer.evidence] == [
        (parse_month("1935-04"), 1.0)
    ]
    shown = [one for one in answer.readings if not one.evidence]
    assert [one.period.first for one in shown] == [parse_month("1950-01")]
    assert "from memory" in shown[0].detail
    assert all(one.period.last == SPAN.last for one in answer.readings)


def test_an_unreadable_digit_spreads_the_weight_by_completions():
    # 2,?99,999 … ten completions: 0 to 9 in the hundred thousands; all lie below 3,000,000.
    # ?,000,001: 2,000,001 is bounded by 1935-04; 3 to 9 by 1961-09; 0 and 1 by nothing.
    answer = read_patent("?,000,001", TABLE, span=SPAN, design=False)
    weights = {one.period.first: one.weight for one in answer.evidence}
    assert weights == pytest.approx({parse_month("1935-04"): 0.1, parse_month("1961-09"): 0.7})


def test_the_latest_of_several_numbers_governs():
    answer = read_patent("PATS. 2,100,000 3,100,000 PEND.", TABLE, span=SPAN, design=False)
    weights = {one.period.first: one.weight for one in answer.evidence}
    assert weights == pytest.approx({parse_month("1935-04"): 0.05, parse_month("1961-09"): 1.0})


@pytest.mark.parametrize("text", ["3100000", "3,100,000", "3 100 000", "U.S. PAT. NO. 3.100.000"])
def test_thousands_marks_are_free(text):
    answer = read_patent(text, TABLE, span=SPAN, design=False)
    assert [one.period.first for one in answer.readings] == [parse_month("1961-09")]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("PAT. PEND.", "pending patent bears no date"),
        ("Patent applied for", "pending patent bears no date"),
        ("DES. 190,001", "design patent"),
        ("PATENTED", "no number"),
        ("1,000,000", "no number of the patent table"),
        ("123456789", "length"),
    ],
)
def test_rejections_say_why(text, reason):
    answer = read_patent(text, TABLE, span=SPAN, design=False)
    assert not answer.readings
    assert reason in answer.rejections[0].reason


def test_design_numbers_are_from_memory_and_carry_no_evidence():
    answer = read("DES. 190,001", "design patent", CONTEXT)
    assert [one.period.first for one in answer.readings] == [parse_month("1961-01")]
    assert answer.evidence == ()
    assert "from memory" in answer.readings[0].source
    assert answer.likelihood() == {}


def test_a_grant_after_the_span_is_turned_down():
    early = Period.parse(["1930-01", "1955-12"])
    answer = read_patent("3,100,000", TABLE, span=early, design=False)
    assert not answer.readings
    assert "granted after" in answer.rejections[0].reason


def test_the_span_cuts_the_beginning():
    late = Period.parse(["1962-01", "1970-12"])
    assert read_patent("3,100,000", TABLE, span=late, design=False).readings[0].period == late
