"""Source-date codes: splits, weights, editions, unreadable digits."""

from types import MappingProxyType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.marks import SourceCode, SourceDateRules, read
from heelstamp.marks.source_date import read_source_date
from heelstamp.marks.source_table import look_up
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period, format_month, parse_month

CONTEXT = mark_context()
SPAN = CONTEXT.span


def months(text, **known):
    answer = read(text, "source-date", mark_context(**known))
    return {format_month(month): weight for month, weight in answer.likelihood().items()}


def year_weight(weights, year):
    return sum(weight for month, weight in weights.items() if month.startswith(str(year)))


@pytest.mark.parametrize(
    "text",
    [
        "137-6-43",
        "137643",
        "137 6 43",
        "137 / 6 / 43",
        "137.6.43",
        "EIA 137-643",
        "137–6–43",
        "137-6-43 A",
        "137-6-43-B",
        "R137643",
    ],
)
def test_separators_and_letters_do_not_change_the_reading(text):
    assert months(text) == pytest.approx(months("137-6-43"))


def test_weights_of_a_one_digit_year_fall_through_the_sixties():
    weights = months("137-6-43")
    assert year_weight(weights, 1946) == pytest.approx(0.98)
    assert year_weight(weights, 1956) == pytest.approx(0.98)
    assert year_weight(weights, 1966) == pytest.approx(0.15)
    assert year_weight(weights, 1976) == 0.0


def test_a_week_is_split_over_months_by_its_days():
    # Week 43 of 1956 is 21 to 27 October; the week after has 3 days in November.
    weights = months("137-6-43")
    assert weights["1956-11"] / year_weight(weights, 1956) == pytest.approx(0.25 * 3 / 7)


def test_weeks_from_1999_on_are_exact():
    # Week 10 of 1999 is 7 to 13 March; week 13 is 28 March to 3 April: 4 days and 3.
    assert months("137-9910") == pytest.approx({"1999-03": 1.0})
    assert months("137-9913") == pytest.approx({"1999-03": 4 / 7, "1999-04": 3 / 7})


def test_knowledge_of_the_last_one_digit_year_sharpens_without_excluding():
    known = months("137-6-43", one_digit={"137": 1960})
    assert year_weight(known, 1956) == pytest.approx(0.98)
    assert year_weight(known, 1966) == pytest.approx(0.02)
    never = months("304-7-28", one_digit={"304": 0})
    assert year_weight(never, 1957) == pytest.approx(0.02)
    assert year_weight(never, 1967) == pytest.approx(0.02)


def test_a_chronology_may_know_one_digit_years_after_the_usual_ones():
    assert year_weight(months("285-2-20", one_digit={"285": 1973}), 1972) == pytest.approx(0.98)


def test_an_unseparated_odd_length_source_needs_a_checked_row():
    answer = read("137643", "source-date", CONTEXT)
    assert {one.rule for one in answer.readings} == {"source-date SSS-Y-WW"}
    assert any(one.reason.startswith("13-76-43: source 13 is not") for one in answer.rejections)
    listed = read("677543", "source-date", CONTEXT)
    heaviest = max(listed.readings, key=lambda one: one.weight)
    assert heaviest.rule == "source-date SS-YY-WW"
    assert heaviest.period == Period.parse("1975-10")
    set_off = read("13-7643", "source-date", CONTEXT)
    assert {one.rule for one in set_off.readings} == {"source-date SS-YY-WW"}


def test_a_row_from_memory_never_raises_a_weight():
    remembered = read("101-6-43", "source-date", CONTEXT)
    unlisted = read("102-6-43", "source-date", CONTEXT)
    assert "from memory" in remembered.readings[0].detail
    assert "not on the list held here" in unlisted.readings[0].detail
    assert [one.weight for one in remembered.readings] == [one.weight for one in unlisted.readings]
    # nor does it open a split that its number alone would not
    assert not any("SSSS" in one.rule for one in read("1098643", "source-date", CONTEXT).readings)


def test_digits_that_touch_the_week_forbid_the_reading():
    answer = read("1377543", "source-date", CONTEXT)
    assert {one.rule for one in answer.readings} == {"source-date SSS-YY-WW"}
    nine = read("137754300", "source-date", CONTEXT)
    assert not nine.readings
    assert "at most 8" in nine.rejections[0].reason


def test_a_suffix_of_digits_lowers_the_weight_only():
    plain, suffixed = months("137-6-43"), months("137-6-43 500K")
    assert set(plain) == set(suffixed)
    assert suffixed["1956-10"] == pytest.approx(plain["1956-10"] / 2)


def test_an_unreadable_digit_is_the_sum_over_its_completions():
    blurred = months("137-6-4?")
    total = {}
    for digit in "0123456789":
        for month, weight in months(f"137-6-4{digit}").items():
            total[month] = total.get(month, 0.0) + weight
    scale = blurred["1956-10"] / total["1956-10"]
    assert blurred == pytest.approx({month: scale * weight for month, weight in total.items()})


def test_two_unreadable_digits_keep_year_and_week_apart():
    answer = read("137 6??3", "source-date", CONTEXT)
    two_digit = [one for one in answer.readings if one.rule == "source-date SSS-YY-WW"]
    years = {one.period.first // 12 for one in two_digit if one.period.first % 12 not in (0, 11)}
    assert years == set(range(1960, 1970))


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("137-7-60", "week 60"),
        ("137-7-00", "week 00"),
        ("000-7-43", "a source number is not 0"),
        ("no code", "no digits"),
        ("137", "no source number"),
        ("1373043", "no year 30"),
    ],
)
def test_rejections_say_why(text, reason):
    answer = read(text, "source-date", CONTEXT)
    assert not answer.readings
    assert any(reason in one.reason for one in answer.rejections)


def test_a_claim_turns_readings_down_with_the_reason():
    claimed = mark_context(claimed=Period.parse(["1940-01", "1979-12"]))
    answer = read("1370043", "source-date", claimed)
    assert not answer.readings
    assert any("outside the claimed" in one.reason for one in answer.rejections)
    assert read("1370043", "source-date", CONTEXT).readings[0].period == Period.parse("2000-10")


def test_editions_turn_down_years_before_a_number_was_given_out():
    table = MappingProxyType({"777": SourceCode("777", ("capacitor",), True, "a list", 1959, 1961)})
    answer = read_source_date("777-6-20", table, span=SPAN)
    years = {one.period.first // 12 for one in answer.readings}
    assert years == {1956, 1966}  # the list before 1959 is that of 1953
    assert any("1946: by the printed lists" in one.reason for one in answer.rejections)
    assert "in the lists 1959 to 1961" in answer.readings[0].detail
    late = [one.weight for one in answer.readings if one.period.first // 12 == 1966]
    assert sum(late) == pytest.approx(0.15 * 0.1)
    assert "edition not known" in read("137-6-43", "source-date", CONTEXT).readings[0].detail


def test_the_table_is_searched_without_leading_noughts_and_with_unreadable_digits():
    assert look_up(CONTEXT.sources, "067").rows[0].code == "67"
    found = look_up(CONTEXT.sources, "13?")
    assert {"134", "137"} <= {row.code for row in found.rows}
    assert found.rows[0].evidence
    assert look_up(CONTEXT.sources, "???").listed


def test_the_span_bounds_every_reading():
    answer = read_source_date(
        "137-6-43", CONTEXT.sources, span=Period(parse_month("1950-01"), parse_month("1959-12"))
    )
    assert {one.period.first // 12 for one in answer.readings} == {1956}


@pytest.mark.parametrize(
    "wrong",
    [
        {"one_digit_share": {1956: 1.0}},
        {"one_digit_share": {1945: 0.5}},
        {"smudge": 0.0},
        {"neighbour_week": 0.6},
    ],
)
def test_rules_refuse_numbers_that_would_exclude(wrong):
    with pytest.raises(InputError):
        SourceDateRules(**wrong)


def test_an_unlisted_split_can_be_let_in():
    rules = SourceDateRules(unlisted_split=0.05)
    answer = read_source_date("137643", CONTEXT.sources, span=SPAN, rules=rules)
    split = [one for one in answer.readings if one.rule == "source-date SS-YY-WW"]
    assert sum(one.weight for one in split) == pytest.approx(0.05 * 0.25)


def test_a_number_is_told_by_the_kinds_of_part_it_stands_on():
    known = "source 137 (potentiometer or loudspeaker, edition not known)"
    assert look_up(CONTEXT.sources, "137").name() == known
    remembered = "source 145 (wire, from memory, given no weight)"
    assert look_up(CONTEXT.sources, "145").name() == remembered


def test_separators_as_written_win():
    answer = read("671-48-26", "source-date", CONTEXT)
    assert {one.rule for one in answer.readings} == {"source-date SSS-YY-WW"}
    assert any("part the mark into 671-48-26" in one.reason for one in answer.rejections)


@settings(max_examples=150, deadline=None)
@given(
    st.integers(1, 9999),
    st.one_of(st.integers(46, 99).map(str), st.integers(0, 9).map(str)),
    st.integers(1, 53),
    st.sampled_from(["-", " ", ".", " / "]),
    st.sampled_from(["", " A", "-2", " 500K", "-1"]),
)
def test_no_reading_cuts_through_groups_that_separators_part(source, year, week, gap, after):
    text = f"{source}{gap}{year}{gap}{week:02d}{after}"
    answer = read(text, "source-date", CONTEXT)
    # a further group may make a second code of three groups, never one of parts of groups
    groups = [str(source), year, f"{week:02d}"]
    wanted = {f"source-date {'S' * len(groups[0])}-{'Y' * len(year)}-WW"}
    if after in ("-2", " 500K", "-1"):
        wanted |= {f"source-date {'S' * len(year)}-{'Y' * 2}-WW"}
    assert {one.rule for one in answer.readings} <= wanted
    assert answer.readings or answer.rejections
