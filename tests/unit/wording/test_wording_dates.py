import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.units import Period, name_month, parse_month
from heelstamp.wording import about_dates as dates
from heelstamp.wording import find_banned
from heelstamp.wording.sentences import Grounds

GROUNDS = Grounds(("o1",), ("f1",))
MAY, JUN, SEP = (parse_month(f"1965-{m:02d}") for m in (5, 6, 9))
months = st.integers(parse_month("1930-01"), parse_month("1985-12"))


@st.composite
def periods(draw: st.DrawFn) -> Period:
    first = draw(months)
    return Period(first, first + draw(st.integers(0, 60)))


def test_completion_reads_as_the_rule_demands() -> None:
    told = dates.completion("d", GROUNDS, interval_90=Period(MAY, SEP), likeliest=JUN)
    assert told.text == (
        "Completed between May 1965 and Sep 1965 (90 %), most likely Jun 1965; marks date "
        "parts, and the instrument was completed after its original parts."
    )
    assert told.layer == "inferred"
    assert (told.rests_on, told.frames) == (("o1",), ("f1",))


def test_a_single_month_is_never_printed_alone() -> None:
    told = dates.completion("d", GROUNDS, interval_90=Period(MAY, MAY), likeliest=MAY)
    assert "between Apr 1965 and Jun 1965 (more than 90 %)" in told.text


def test_without_a_likeliest_month_none_is_named() -> None:
    told = dates.completion("d", GROUNDS, interval_90=Period(MAY, SEP), likeliest=None)
    assert "no month standing out" in told.text
    assert "most likely" not in told.text


def test_a_likeliest_month_outside_the_range_is_refused() -> None:
    with pytest.raises(InputError, match="outside the range"):
        dates.completion("d", GROUNDS, interval_90=Period(MAY, JUN), likeliest=SEP)


@given(periods(), st.integers(0, 60))
def test_completion_always_gives_two_months_and_a_probability(period: Period, at: int) -> None:
    likeliest = min(period.last, period.first + at)
    told = dates.completion("d", GROUNDS, interval_90=period, likeliest=likeliest)
    assert find_banned(told.text) == ()
    span, mass = dates.span_of(period)
    assert span.first < span.last
    for word in (name_month(span.first), name_month(span.last), mass):
        assert word in told.text


def test_a_withheld_date_gives_its_reasons() -> None:
    told = dates.completion_withheld(
        "d", GROUNDS, reasons=["The body is doubtful", "Marks disagree."]
    )
    assert told.text.endswith("The body is doubtful. Marks disagree.")
    with pytest.raises(InputError, match="needs a reason"):
        dates.completion_withheld("d", GROUNDS, reasons=[])


def test_an_ambiguous_reading_prints_both_and_decides_nothing() -> None:
    told = dates.reading(
        "r", GROUNDS, mark="the stamp", readings=[("65/08", 0.21), ("65/03", 0.79)]
    )
    assert told.text == (
        "The stamp reads 65/03 (79 %) or 65/08 (21 %): not determined, both printed."
    )
    assert told.strength == "not determined"


def test_a_likely_reading_keeps_the_others_in_print() -> None:
    told = dates.reading(
        "r", GROUNDS, mark="the stamp", readings=[("65/03", 0.96), ("65/08", 0.04)]
    )
    assert "very probably reads 65/03 (96 %) or 65/08 (4 %)" in told.text


def test_a_reading_that_only_the_other_evidence_prefers_stays_open() -> None:
    told = dates.reading(
        "r", GROUNDS, mark="the stamp", readings=[("65/03", 0.82), ("65/08", 0.18)]
    )
    assert told.strength == "not determined"
    assert "65/03 (82 %)" in told.text
    assert "65/08 (18 %)" in told.text


def test_a_single_reading_is_a_fact_and_no_reading_is_refused() -> None:
    assert dates.reading("r", GROUNDS, mark="it", readings=[("65/03", 1.0)]).layer == "seen"
    with pytest.raises(InputError, match="without a reading"):
        dates.reading("r", GROUNDS, mark="it", readings=[])


@given(
    st.lists(
        st.tuples(st.from_regex(r"\d\d/\d\d", fullmatch=True), st.floats(0, 1)),
        min_size=2,
        max_size=6,
    )
)
def test_no_reading_is_ever_dropped(readings: list[tuple[str, float]]) -> None:
    told = dates.reading("r", GROUNDS, mark="it", readings=readings).text
    assert all(text in told for text, _ in readings)


def test_the_weight_of_one_observation_is_told_in_months() -> None:
    told = dates.without_observation(
        "w",
        GROUNDS,
        observation="the code on the volume pot",
        interval_90=Period(parse_month("1965-03"), parse_month("1965-08")),
        middle=parse_month("1965-04"),
        middle_with=JUN,
    )
    assert told.text == (
        "Without the code on the volume pot the range would be Mar 1965 to Aug 1965 (90 %), middle "
        "Apr 1965; it moves the middle 2 months later."
    )
    same = dates.without_observation(
        "w", GROUNDS, observation="x", interval_90=Period(MAY, SEP), middle=JUN, middle_with=JUN
    )
    assert "moves" not in same.text


@given(st.floats(1e-12, dates.SURPRISING, exclude_max=True))
def test_the_unusual_is_called_out_in_round_figures_up_to_a_thousand(mid_p: float) -> None:
    text = dates.surprise("s", GROUNDS, observation="the tuner", mid_p=mid_p).text
    assert text.startswith("The tuner sits badly with the rest")
    once = text.removesuffix(" such instruments.").rpartition(" ")[2]
    assert (once == "1000") == (mid_p < 0.00101) or float(once) == pytest.approx(1 / mid_p, abs=5)


def test_what_withholds_a_date_is_said_with_its_figure() -> None:
    assert "does not: 34 %" in dates.body_doubtful.say(chance=0.338)
    assert "instruments: neck, bridge." in dates.several_instruments.say(parts=["neck", "bridge"])
    assert dates.nothing_bears_on_date.say() == "Nothing seen on this instrument bears on its date."


def test_separate_periods_and_prior_and_part_dates() -> None:
    runs = [(Period(MAY, JUN), 0.3), (Period(SEP, SEP + 2), 0.7)]
    told = dates.completion_runs("r", GROUNDS, runs=runs).text
    assert told.index("70 %") < told.index("30 %")
    prior = dates.completion_prior("p", GROUNDS, interval_90=Period(MAY, SEP))
    assert "Before any evidence" in prior.text
    part = dates.part_date("q", GROUNDS, part="tuners", interval_90=Period(MAY, SEP))
    assert part.text.startswith("The tuners, on their own marks alone, point to")
