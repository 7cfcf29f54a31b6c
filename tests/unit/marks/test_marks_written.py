"""Pencilled and stamped dates: orders, slips, inspectors' marks, what is not a date."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.marks import WritingRules, WrittenOrder, read
from heelstamp.marks.written_order import FIELDS, ROMAN
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period, format_month

FIFTIES = mark_context(span=Period.parse(["1953-03", "1968-06"]))
RULES = WritingRules()


def months(text, order, context=FIFTIES):
    answer = read(text, f"written:{order}", context)
    return {format_month(month): weight for month, weight in answer.likelihood().items()}


def test_a_roman_month_with_its_miscounts():
    assert months("VIII 61", "roman-month year2") == {"1961-07": RULES.miscount, "1961-08": 1.0}


def test_a_stroke_on_the_wrong_side_of_the_ten():
    weights = months("IX 63", "roman-month year2")
    assert weights == {"1963-09": 1.0, "1963-10": RULES.miscount, "1963-11": RULES.wrong_side}


def test_a_lost_last_stroke_turns_november_into_january():
    weights = months("9 1", "year1 month")
    assert weights == {
        "1959-01": 1.0,
        "1959-10": RULES.lost_character,
        "1959-11": RULES.lost_stroke,
        "1959-12": RULES.lost_character,
    }
    assert months("9 11", "year1 month") == {"1959-11": 1.0}


def test_a_one_digit_year_is_every_decade_of_the_span():
    assert set(months("5 6", "year1 month")) == {"1955-06", "1965-06"}


@pytest.mark.parametrize(
    "text", ["65/03 R", "65-03-R", "6503R", "65 03 r", "65/03 R (3)", "③ 65/03 R", "(7)65.03 R"]
)
def test_separators_case_and_inspectors_marks_are_passed_over(text):
    assert months(text, "year2/month2 letter") == {"1965-03": 1.0}


def test_a_bench_letter_is_not_a_date_and_may_be_missing():
    assert months("65/03", "year2 month2 letter") == {"1965-03": RULES.no_letter}
    assert months("65/03 R", "year2 month2") == {}
    assert months("65/03 K", "year2 month2 letter") == months("65/03 R", "year2 month2 letter")


def test_an_under_inked_digit_is_every_digit_that_a_month_may_have():
    weights = months("65/0? R", "year2 month2 letter")
    assert set(weights) == {f"1965-{month:02d}" for month in range(1, 10)}
    assert len(set(weights.values())) == 1


def test_other_spelling_of_a_month_weighs_less():
    assert months("65/3", "year2 month2") == {"1965-03": RULES.other_spelling}
    assert months("03 65", "month year2")["1965-03"] == RULES.other_spelling


@pytest.mark.parametrize(
    ("order", "write"),
    [
        ("roman-month year2", lambda year, month: f"{ROMAN[month - 1]} {year % 100:02d}"),
        ("year1 month", lambda year, month: f"{year % 10} {month}"),
        ("year2/month2 letter", lambda year, month: f"{year % 100:02d}/{month:02d} K"),
        ("month day year4", lambda year, month: f"{month}-28-{year}"),
        ("month year2", lambda year, month: f"{month}.{year % 100:02d}"),
    ],
)
def test_what_is_written_is_read_back_as_the_heaviest(order, write):
    for year in range(1954, 1968):
        for month in range(1, 13):
            weights = months(write(year, month), order)
            assert weights[f"{year}-{month:02d}"] == max(weights.values())


def test_names_of_months_and_additive_numerals():
    assert months("Mar 17 1965", "named-month day year4") == {"1965-03": 1.0}
    assert months("SEPT. 1965", "named-month year4") == {"1965-09": 1.0}
    assert months("VIIII 63", "roman-month year2")["1963-09"] == 1.0


def test_an_order_without_month_gives_whole_years():
    answer = read("65", "written:year2", FIFTIES)
    assert [one.period for one in answer.readings] == [Period.of_year(1965)]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("13 61", "there is no month 13"),
        ("", "does not fit the order"),
        ("VIII 71", "1971-07 lies outside"),
    ],
)
def test_rejections_say_why(text, reason):
    order = "month year2" if text.startswith("13") else "roman-month year2"
    answer = read(text, f"written:{order}", FIFTIES)
    assert not answer.readings
    assert any(reason in one.reason for one in answer.rejections)


@pytest.mark.parametrize("order", ["", "month", "year1 year2", "month roman-month year2", "date"])
def test_orders_that_say_nothing_are_refused(order):
    with pytest.raises(InputError):
        read("61", f"written:{order}", FIFTIES)


def test_an_unknown_field_is_answered_with_the_known_ones():
    with pytest.raises(InputError, match="roman-month") as caught:
        WrittenOrder.parse("bench year2")
    assert all(field in str(caught.value) for field in FIELDS)


def test_rules_refuse_a_weight_of_nought():
    with pytest.raises(InputError):
        WritingRules(miscount=0.0)


def _made_up(text, order):
    return read(
        text, f"written:{order}", replace(FIFTIES, span=Period.parse(["1930-01", "1999-12"]))
    )


@settings(max_examples=200, deadline=None)
@given(
    st.integers(0, 99),
    st.integers(0, 99),
    st.integers(30, 99),
    st.sampled_from(["/", " ", "-", "."]),
    st.sampled_from(["month day year2", "day month year2", "year2 month day"]),
)
def test_a_date_is_read_only_if_the_calendar_has_it(month, day, year, gap, order):
    told = {"month": f"{month}", "day": f"{day}", "year2": f"{year:02d}"}
    text = gap.join(told[field] for field in order.split())
    try:
        date(1900 + year, month, day)
    except ValueError:
        kept = False
    else:
        kept = True
    answer = _made_up(text, order)
    plain = [one for one in answer.readings if ", if " not in one.detail]
    assert bool(plain) == kept
    if kept:
        assert plain[0].period.iso() == f"19{year:02d}-{month:02d}"
    else:
        assert answer.rejections


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("2/30/64", "Feb 1964 has 29 days, not 30"),
        ("2/29/63", "Feb 1963 has 28 days, not 29"),
        ("4/31/64", "Apr 1964 has 30 days, not 31"),
        ("13/3/64", "there is no month 13"),
        ("4/32/64", "no month has a day 32"),
    ],
)
def test_an_impossible_date_says_what_is_wrong_in_it(text, wrong):
    answer = _made_up(text, "month day year2")
    assert not answer.readings
    assert [one.reason for one in answer.rejections] == [wrong]
