"""One fact entered twice weighs once; several marks on one part can fail together."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.pots_model import pots_model
from fakes.wherry_examinations import Body, look, translated, wherry
from heelstamp.casework.dating.mark_reading import written_span
from heelstamp.dating import CompiledModel, Mark, Reading, SerialNumber, infer
from heelstamp.errors import InputError
from heelstamp.units import Period, format_month

SECOND = "m2"


def neck(id_: str, text: str, **told: object) -> Body:
    return look(id_, "neck", "mark", text=text, **told)


def test_the_same_mark_under_two_ids_counts_once_and_says_so() -> None:
    found = translated([neck("m1", "65/03 R"), neck(SECOND, "65/03 R")])
    assert found[SECOND].evidence == []
    assert found[SECOND].why_not == "the same mark as “m1”, counted once"


@settings(max_examples=60, deadline=None)
@given(
    st.integers(58, 68),
    st.integers(1, 12),
    st.sampled_from(["/", " ", "-", ""]),
    st.sampled_from(["/", " ", "-", "."]),
    st.sampled_from(["R", "r", "T"]),
)
def test_other_separators_do_not_make_another_mark(
    year: int, month: int, gap: str, other: str, letter: str
) -> None:
    texts = [f"{year}{one}{month:02d} {letter}" for one in (gap, other)]
    found = translated([neck("m1", texts[0]), neck(SECOND, texts[1])])
    marks = [item for one in found.values() for item in one.evidence if isinstance(item, Mark)]
    assert len(marks) <= 1
    assert found[SECOND].why_not


def test_the_same_text_read_otherwise_is_still_one_mark() -> None:
    own = [{"period": "1964-03", "weight": 0.5}, {"period": "1965-03", "weight": 0.5}]
    found = translated([neck("m1", "65/03 R"), neck(SECOND, "65/03 R", readings=own)])
    assert found[SECOND].evidence == []
    assert "read otherwise there" in (found[SECOND].why_not or "")


def test_two_marks_that_differ_both_count() -> None:
    found = translated([neck("m1", "65/03 R"), neck(SECOND, "65/04 R")])
    assert all(one.evidence for one in found.values())


def test_the_same_text_on_two_parts_is_two_marks() -> None:
    pots = [look(part, part, "mark", text="137-6-43") for part in ("pot_volume", "pot_tone")]
    assert all(any(isinstance(e, Mark) for e in one.evidence) for one in translated(pots).values())


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.integers(0, 30), st.floats(0.05, 1.0)),
        min_size=1,
        max_size=5,
    )
)
def test_readings_of_one_mark_never_add_up(read: list[tuple[int, int, float]]) -> None:
    """Each month has the weight of the heaviest reading that names it."""
    base = 12 * 1960
    wanted: dict[int, float] = {}
    own = []
    for first, length, weight in read:
        period = Period(base + first, base + first + length)
        ends = [format_month(month) for month in (period.first, period.last)]
        own.append({"period": ends, "weight": weight})
        for month in range(period.first, period.last + 1):
            wanted[month] = max(weight, wanted.get(month, 0.0))
    mark = translated([look("m1", "neck", "mark", readings=own)])["m1"].mark
    assert mark is not None
    seen: dict[int, float] = {}
    for one in mark.readings:
        for month in range(one.period.first, one.period.last + 1):
            assert month not in seen
            seen[month] = one.weight
    assert seen == wanted


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 99), st.integers(1, 12), st.sampled_from([" ", "/", ""]))
def test_no_two_digit_year_lands_a_century_away(year: int, month: int, gap: str) -> None:
    """What a maker of these years wrote is read in years in which this maker can have written."""
    span = written_span(wherry())
    told = neck("m1", f"{month}{gap}{year:02d}", reader="written:month year2")
    mark = translated([told])["m1"].mark
    assert mark is not None
    for one in mark.readings:
        assert span.first <= one.period.first <= one.period.last <= span.last
    assert mark.readings or mark.why_not


def number(id_: str, text: str, part: str = "neck_plate") -> Body:
    return look(id_, part, "serial", text=text)


def counted(*bodies: Body) -> dict[str, list[object]]:
    found = translated(list(bodies))
    return {
        id_: [e for e in one.evidence if isinstance(e, SerialNumber)] for id_, one in found.items()
    }


@settings(max_examples=40, deadline=None)
@given(st.integers(6000, 10900), st.sampled_from(["neck", "body"]), st.booleans())
def test_a_number_in_two_places_counts_once(serial: int, place: str, plate_first: bool) -> None:
    two = [number("plate", f"{serial}"), number("pencil", f"{serial}", place)]
    found = translated(two if plate_first else two[::-1])
    held = [
        id_ for id_, one in found.items() if any(isinstance(e, SerialNumber) for e in one.evidence)
    ]
    assert held == ["plate"]
    assert found["pencil"].why_not == "the same number as “plate”, counted once"


def test_contradicting_numbers_are_said_and_the_makers_place_dates() -> None:
    for bodies in (
        [number("plate", "S10350"), number("pencil", "S10351", "neck")],
        [number("pencil", "S10351", "neck"), number("plate", "S10350")],
    ):
        found = translated(bodies)
        assert found["plate"].evidence
        said = found["pencil"].why_not or ""
        assert "contradicts “plate”: S10351 here, S10350 there" in said
        assert not any(isinstance(e, SerialNumber) for e in found["pencil"].evidence)


def test_two_numbers_in_one_place_are_refused() -> None:
    with pytest.raises(InputError, match="one serial number in one place"):
        translated([number("a", "S10350"), number("b", "S10351")])


def test_a_fuller_reading_of_the_same_number_counts() -> None:
    assert {
        k: len(v) for k, v in counted(number("a", "S103?0"), number("b", "S10350")).items()
    } == {"a": 0, "b": 1}


COMPILED = CompiledModel(pots_model(0.8))


def on_neck(month: int, together: float) -> Mark:
    return Mark("neck", (Reading(Period(month, month), 1.0),), 0.01, together=together)


def test_a_second_mark_that_can_fail_with_the_first_says_less_against_a_part() -> None:
    """Three marks on one part are not three witnesses: how sure they make one is bounded by e c."""
    late = 12 * 1985  # long after the body: against *original*
    held = []
    for together in (0.0, 0.5, 1.0):
        marks = tuple(on_neck(late, together) for _ in range(3))
        body = Mark("body", (Reading(Period(12 * 1966, 12 * 1966), 1.0),), 0.01)
        held.append(float(infer(COMPILED, (body, *marks)).states["neck"][0][0]))
    assert held[0] < 0.1 * held[1] < 0.1
    assert held[1] < held[2]


def test_one_mark_alone_is_weighed_as_ever() -> None:
    alone = [infer(COMPILED, (on_neck(12 * 1966, c),)).months[0] for c in (0.0, 0.5, 1.0)]
    assert np.array_equal(alone[0], alone[1])
    assert np.array_equal(alone[0], alone[2])
