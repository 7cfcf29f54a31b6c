"""What holds for any text and any reader: no crash, readings inside the rules, ``?`` harmless."""

import re
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.marks import READERS, MarkReadings, read
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period, parse_month

CONTEXT = mark_context(one_digit={"137": 1960, "304": 0})
NAMES = (
    "source-date",
    "patent",
    "design patent",
    "bound:us_zip5",
    "bound:reg_phrase",
    "bound:upc",
    "written:roman-month year2",
    "written:year1 month",
    "written:year2 month2 letter",
    "written:named-month day year4",
    "written:year2",
)
DATED_FORM = re.compile(r"source-date S{1,4}-Y{1,2}-WW")

digits = st.text("0123456789?", max_size=9)
marks = st.one_of(
    st.text(max_size=30),
    st.text("0123456789?- /.,()IVXRKT'①", max_size=16),
    st.builds(
        "{0}{1}{2}{1}{3}{4}".format,
        st.sampled_from(["137", "304", "67", "1098", "999", "13?"]),
        st.sampled_from(["", "-", " ", " / "]),
        st.sampled_from(["6", "0", "65", "99", "?", "6?"]),
        st.sampled_from(["01", "43", "53", "60", "?3", "4?"]),
        st.sampled_from(["", " A", "-2", " 500K"]),
    ),
    st.builds(
        "{} {},{},{}".format,
        st.sampled_from(["PAT.", "PATS. 2,046,343", "U.S. PAT. NO."]),
        st.integers(1, 9),
        st.integers(100, 999),
        st.sampled_from(["261", "?61", "000"]),
    ),
    st.builds(
        "{} {}".format,
        st.sampled_from(["VIII", "IX", "II", "VIIII", "9", "1", "Mar", "65/03", "65/0?"]),
        st.sampled_from(["61", "6?", "11", "1", "R", "(3)", "17 1965", ""]),
    ),
)
names = st.sampled_from(NAMES)


def held(answer: MarkReadings) -> set[tuple[Period, str, bool]]:
    return {(one.period, one.rule, one.evidence) for one in answer.readings}


@settings(max_examples=400, deadline=None)
@given(marks, names)
@example("", "source-date")
@example("?" * 64, "source-date")
@example("?" * 40, "written:named-month day year4")
@example("\ud800\x00￿٣１²", "source-date")
@example("9" * 100_000, "patent")
@example("?" * 200, "patent")
def test_no_text_crashes_and_every_reading_is_inside_the_rules(text, name):
    answer = read(text, name, CONTEXT)
    assert answer.text == text
    assert answer.reader == name
    assert answer.readings or answer.rejections
    for one in answer.readings:
        assert 0.0 < one.weight <= 1.0 + 1e-12
        assert one.rule
        assert one.source
        assert one.detail
        assert CONTEXT.span.first <= one.period.first <= one.period.last <= CONTEXT.span.last
        if name == "source-date":
            assert DATED_FORM.fullmatch(one.rule)
            assert one.period.first >= parse_month("1945-12")
            assert len(one.period) == 1
        if name in ("patent", "design patent"):
            assert one.period.last == CONTEXT.span.last
    for one in answer.rejections:
        assert one.reason
        assert one.rule


@settings(max_examples=300, deadline=None)
@given(marks.filter(bool), names, st.data())
@example("137-6-43", "source-date", None)
@example("PATS. 2,046,343 2,817,261", "patent", None)
@example("65/03 (3) R", "written:year2 month2 letter", None)
def test_a_question_mark_for_any_character_takes_no_reading_away(text, name, data):
    places = range(len(text)) if data is None else [data.draw(st.integers(0, len(text) - 1))]
    before = held(read(text, name, CONTEXT))
    for place in places:
        blurred = text[:place] + "?" + text[place + 1 :]
        assert before <= held(read(blurred, name, CONTEXT)), blurred


@settings(max_examples=300, deadline=None)
@given(marks, names, st.data())
@example("1377543", "source-date", None)
@example("2817261", "patent", None)
@example("VIII 61", "written:roman-month year2", None)
def test_a_question_mark_between_any_characters_takes_no_reading_away(text, name, data):
    places = range(len(text) + 1) if data is None else [data.draw(st.integers(0, len(text)))]
    before = held(read(text, name, CONTEXT))
    for place in places:
        blurred = text[:place] + "?" + text[place:]
        assert before <= held(read(blurred, name, CONTEXT)), blurred


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(["137", "304", "285", "888"]),
    st.integers(0, 9),
    st.integers(1, 53),
    st.sampled_from(["", "-", " "]),
    st.booleans(),
)
def test_a_one_digit_year_is_never_a_single_decade(source, year, week, gap, known):
    context = CONTEXT if known else replace(CONTEXT, one_digit={})
    answer = read(f"{source}{gap}{year}{gap}{week:02d}", "source-date", context)
    ones = [one for one in answer.readings if one.rule == "source-date SSS-Y-WW"]
    assert len({re.search(r"as (\d{3})", one.detail)[1] for one in ones}) >= 2


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=20), marks)
def test_only_an_unknown_reader_raises_and_it_names_the_known_ones(name, text):
    with pytest.raises(InputError) as caught:
        read(text, f"no {name}", CONTEXT)
    assert all(one in str(caught.value) for one in READERS)


@pytest.mark.parametrize("text", [None, 137643, b"137-6-43", ["137"], object()])
def test_what_is_not_text_is_read_as_its_text(text):
    assert read(text, "source-date", CONTEXT).text == str(text)


def test_an_over_long_text_is_turned_down_with_its_length():
    answer = read("137-6-43 " * 20, "source-date", CONTEXT)
    assert not answer.readings
    assert "180 characters" in answer.rejections[0].reason
