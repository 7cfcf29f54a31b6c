"""Law- and material-bound marks: edges, soft edges, rows from memory."""

import pytest

from heelstamp.errors import InputError
from heelstamp.marks import BoundMark, read
from heelstamp.marks.bound import read_bound
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period, parse_month

SPAN = Period.parse(["1925-01", "2025-12"])
CONTEXT = mark_context()


def row(**changes):
    plain = {
        "key": "a",
        "what": "a mark",
        "not_before": None,
        "margin_before": 0,
        "not_after": None,
        "margin_after": 0,
        "evidence": True,
        "usual": "",
        "note": "",
        "source": "a source",
    }
    return BoundMark(**{**plain, **changes})


def test_a_hard_edge_is_one_reading_to_the_end_of_the_span():
    answer = read_bound("90210", row(not_before=parse_month("1963-07")), span=SPAN)
    assert [(one.period, one.weight) for one in answer.readings] == [
        (Period(parse_month("1963-07"), SPAN.last), 1.0)
    ]


def test_a_soft_edge_is_a_staircase_that_ends_at_one():
    mark = row(not_before=1000 * 12, margin_before=10, not_after=1001 * 12, margin_after=4)
    span = Period(900 * 12, 1100 * 12)
    weights = read_bound("x", mark, span=span).likelihood()
    assert weights[1000 * 12] == pytest.approx(1.0)
    assert weights[1001 * 12] == pytest.approx(1.0)
    assert weights[1000 * 12 - 5] == pytest.approx(0.5)
    assert weights[1000 * 12 - 10] == pytest.approx(0.2)
    assert weights[1001 * 12 + 4] == pytest.approx(0.2)
    assert 1000 * 12 - 11 not in weights
    assert 1001 * 12 + 5 not in weights


def test_kinds():
    assert row(not_before=5).kind == "not before"
    assert row(not_after=5).kind == "not after"
    assert row(not_before=5, not_after=6).kind == "between"
    assert row().kind == "no date"


def test_what_bears_no_date_says_so():
    answer = read("Reg. U.S. Pat. Off.", "bound:reg_phrase", CONTEXT)
    assert not answer.readings
    assert "bears no date" in answer.rejections[0].reason


def test_blank_text_is_no_observation():
    assert read("  ", "bound:us_zip5", CONTEXT).rejections[0].reason == "nothing was seen"


def test_a_row_from_memory_carries_no_evidence():
    answer = read("Made in Occupied Japan", "bound:occupied_japan", CONTEXT)
    assert answer.readings
    assert answer.evidence == ()


def test_outside_the_span():
    answer = read_bound("x", row(not_before=parse_month("2026-01")), span=SPAN)
    assert "outside" in answer.rejections[0].reason


def test_an_unknown_mark_is_answered_with_the_known_ones():
    with pytest.raises(InputError, match="us_zip5"):
        read("x", "bound:unheard", CONTEXT)


@pytest.mark.parametrize("wrong", [{"margin_before": -1}, {"not_before": 6, "not_after": 5}])
def test_impossible_rows_are_refused(wrong):
    with pytest.raises(InputError):
        row(**wrong)
