import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.casework.papers.document_rows import MarkPeriod, MarkRow, Timeline
from heelstamp.report import svg
from heelstamp.report.timeline import (
    PAPER,
    SPAN_MAX,
    TELEPHONE,
    axis_for,
    height_of,
    timeline_alt,
    timeline_svg,
)
from heelstamp.units import Period, parse_month

JAN = parse_month("1965-01")


def row(label: str, *periods: tuple[int, int, float], used: bool = True) -> MarkRow:
    told = tuple(MarkPeriod(Period(JAN + a, JAN + b), w) for a, b, w in periods)
    return MarkRow(label, label, "neck", told, used, "" if used else "later part")


def line(*rows: MarkRow, months: tuple[float, ...] = (0.1, 0.2, 0.4, 0.2, 0.1)) -> Timeline:
    return Timeline(
        tuple((JAN + index, p) for index, p in enumerate(months)),
        Period(JAN + 1, JAN + 3),
        Period(JAN, JAN + 4),
        JAN + 2,
        rows,
    )


def words(picture: str) -> list[str]:
    root = ET.fromstring(picture)
    return [node.text or "" for node in root.iter("{http://www.w3.org/2000/svg}text")]


def test_the_ranges_and_the_likeliest_month_are_written_out() -> None:
    told = words(timeline_svg(line()))
    assert "50 %: Feb 1965 to Apr 1965" in told
    assert "90 %: Jan 1965 to May 1965" in told
    assert "Mar 1965, 40 %" in told


def test_every_row_shows_its_own_periods_with_shares() -> None:
    told = words(timeline_svg(line(row("Neck stamp", (0, 0, 0.79), (5, 5, 0.21)))))
    assert "Neck stamp" in told
    assert "79 %" in told
    assert "21 %" in told


def test_a_period_beyond_the_axis_is_named_at_its_edge() -> None:
    told = words(timeline_svg(line(row("Docket", (300, 300, 1.0), used=False))))
    assert any("Jan 1990" in one and "not used" in one and "▸" in one for one in told)
    told = words(timeline_svg(line(row("Old pot", (-400, -400, 1.0)))))
    assert any("Sep 1931" in one and "◂" in one for one in told)


def test_unused_rows_do_not_stretch_the_axis() -> None:
    near, far = axis_for(line()), axis_for(line(row("x", (40, 60, 1.0), used=False)))
    assert (near.first, near.last) == (far.first, far.last)
    assert axis_for(line(row("x", (40, 60, 1.0)))).last > near.last


@given(
    st.integers(0, 400),
    st.integers(0, 300),
    st.integers(-700, 700),
    st.integers(0, 90),
    st.lists(st.floats(0, 1), min_size=1, max_size=60),
)
def test_whatever_comes_the_picture_is_sound(low, width, mark, length, months) -> None:
    timeline = Timeline(
        tuple((JAN + i, p) for i, p in enumerate(months)),
        Period(JAN + low, JAN + low + width // 2),
        Period(JAN + low, JAN + low + width),
        None,
        (row("a <b> & “c”", (mark, mark + length, 1.0)),),
    )
    for layout in (PAPER, TELEPHONE):
        axis = axis_for(timeline, layout)
        assert axis.last - axis.first <= SPAN_MAX
        picture = timeline_svg(timeline, layout)
        root = ET.fromstring(picture)
        assert root.attrib["height"] == f"{svg.number(height_of(timeline, layout))}mm"
        assert root.attrib["width"] == f"{svg.number(layout.width)}mm"
        assert "nan" not in picture
        for size in re.findall(r'font-size="([\d.]+)"', picture):
            assert float(size) >= svg.TEXT_MM
        assert "a <b> & “c”" in words(picture)


def test_letters_are_large_enough_to_read_in_print() -> None:
    assert svg.TEXT_MM / 25.4 * 72 >= 8.0


def test_on_a_telephone_it_says_the_same_and_labels_stand_above_their_rows() -> None:
    told = line(row("Neck stamp", (0, 0, 0.79), (5, 5, 0.21)), row("Neck pocket", (1, 2, 1.0)))
    wide, narrow = (timeline_svg(told, one) for one in (PAPER, TELEPHONE))
    aside = {"Completed in", "probability of each", "month"}
    assert set(words(wide)) - aside == set(words(narrow)) - {
        "Completed in: probability of each month"
    }
    places: dict[str, float] = {}
    for node in ET.fromstring(narrow).iter("{http://www.w3.org/2000/svg}text"):
        places[node.text or ""] = float(node.attrib["y"])
    assert places["Neck stamp"] < places["79 %"] < places["Neck pocket"]
    # a telephone of 390 px with its margins: letters of at least 11 px
    assert svg.TEXT_MM / TELEPHONE.width * (390 - 48) >= 11


def test_the_picture_is_described_in_words() -> None:
    told = timeline_alt(line(row("Neck stamp", (0, 0, 0.79), (5, 5, 0.21), used=False)))
    for part in ("Jan 1965 to May 1965", "Mar 1965", "Neck stamp", "79 %", "not used"):
        assert part in told


def test_equal_input_gives_equal_bytes() -> None:
    assert timeline_svg(line()) == timeline_svg(line())


@pytest.mark.parametrize(("value", "told"), [(1.0, "1"), (-0.001, "0"), (2.345, "2.35"), (0, "0")])
def test_numbers_are_written_short(value: float, told: str) -> None:
    assert svg.number(value) == told
