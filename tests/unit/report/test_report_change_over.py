import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from heelstamp.chronology.change_view import CensusPoint, ChangeCurve, ChangeView
from heelstamp.report.change_over import (
    LEFT_MM,
    MOST_ROWS,
    PLOT_MM,
    RIGHT_MM,
    WIDTH_MM,
    change_over_alt,
    change_over_svg,
)
from heelstamp.units import Period, parse_month

SPACE = "{http://www.w3.org/2000/svg}"
FIRST = parse_month("1960-01")
RISING = tuple(min(1.0, max(0.0, (k - 20) / 20)) for k in range(60))
CURVE = ChangeCurve(
    old="pear",
    new="rosewood-like",
    first=FIRST,
    values=RISING,
    before=(),
    first_new=FIRST + 22,
    last_old=FIRST + 38,
    source="",
    passing=False,
    learned_from=None,
    centre_90=None,
    olds=(),
    news=(),
)


def point(id_: str, middle: int, variant: str, *, teaches: bool = True) -> CensusPoint:
    month = FIRST + middle
    return CensusPoint(id_, Period(month - 2, month + 3), month, variant, teaches)


def view(curve: ChangeCurve) -> ChangeView:
    return ChangeView("f05", "board", "2026-11", True, (curve,))


def nodes(picture: str, kind: str) -> list[ET.Element]:
    return list(ET.fromstring(picture).iter(f"{SPACE}{kind}"))


def words(picture: str) -> list[str]:
    return [one.text or "" for one in nodes(picture, "text")]


def curve_places(picture: str) -> list[tuple[float, float]]:
    line = nodes(picture, "polyline")[-1].attrib["points"]
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in line.split())]


def test_the_height_of_the_curve_is_the_share() -> None:
    places = curve_places(change_over_svg(view(CURVE)))
    base, high = places[0][1], places[-1][1]
    assert base - high == pytest.approx(PLOT_MM, abs=0.02)
    for share, (_, y) in zip(RISING, places, strict=True):
        assert (base - y) / PLOT_MM == pytest.approx(share, abs=0.001)


def test_a_month_stands_in_the_middle_of_its_step() -> None:
    places = curve_places(change_over_svg(view(CURVE)))
    step = (RIGHT_MM - LEFT_MM) / len(RISING)
    assert places[0][0] == pytest.approx(LEFT_MM + step / 2, abs=0.01)
    assert places[-1][0] == pytest.approx(RIGHT_MM - step / 2, abs=0.01)


def test_new_instruments_lie_above_and_old_ones_below() -> None:
    seen = replace(
        CURVE,
        news=(point("n1", 30, "rosewood-like"),),
        olds=(point("o1", 25, "pear"), point("o2", 35, "pear")),
    )
    picture = change_over_svg(view(seen))
    circles = [float(one.attrib["cy"]) for one in nodes(picture, "circle")]
    base, high = (curve_places(picture)[place][1] for place in (0, -1))
    assert sum(y < high for y in circles) == 1
    assert sum(y > base for y in circles) == 2
    told = words(picture)
    assert {"n1", "o1", "o2", "above (1): rosewood-like", "below (2): pear"} <= set(told)


def test_new_and_old_and_teaching_nothing_are_three_shapes() -> None:
    seen = replace(
        CURVE,
        news=(point("n", 30, "rosewood-like"),),
        olds=(point("o", 25, "pear"), point("x", 26, "pear", teaches=False)),
    )
    picture = change_over_svg(view(seen))
    fills = [one.attrib["fill"] for one in nodes(picture, "circle")]
    assert len(fills) == 2
    assert fills[0] != fills[1]
    bare = change_over_svg(view(replace(seen, olds=seen.olds[:1])))
    assert len(nodes(picture, "line")) == len(nodes(bare, "line")) + 3


def test_instruments_beyond_the_axis_and_beyond_the_room_are_counted() -> None:
    many = tuple(point(f"m{k}", 20 + k, "pear") for k in range(MOST_ROWS + 5))
    seen = replace(CURVE, olds=(point("far", -40, "pear"), *many), news=(point("late", 90, "x"),))
    picture = change_over_svg(view(seen))
    told = words(picture)
    assert "◂ 1 earlier" in told
    assert "5 more" in told
    assert "1 later ▸" in told
    assert len(nodes(picture, "circle")) == MOST_ROWS


def test_another_edition_is_dashed_and_said() -> None:
    picture = change_over_svg(view(replace(CURVE, before=RISING[::-1])))
    first, last = nodes(picture, "polyline")
    assert "stroke-dasharray" in first.attrib
    assert "stroke-dasharray" not in last.attrib
    assert "dashed: the edition before" in words(picture)


@pytest.mark.parametrize("months", [(22, 38), (38, 22), (30, 30), (-900, 900)])
def test_no_word_leaves_the_sheet_and_no_month_breaks_it(months: tuple[int, int]) -> None:
    seen = replace(
        CURVE,
        first_new=FIRST + months[0],
        last_old=FIRST + months[1],
        learned_from=7,
        centre_90=Period(FIRST, FIRST + 9),
        olds=(point("<b>&", 59, "pear"),),
    )
    picture = change_over_svg(view(seen))
    for one in nodes(picture, "text"):
        assert 0 <= float(one.attrib["x"]) <= WIDTH_MM
    assert "<b>" not in picture
    assert "learned from 7 looks; half-way Jan 1960 to Oct 1960 (90 %)" in words(picture)


def test_the_words_tell_what_the_picture_shows() -> None:
    seen = replace(CURVE, news=(point("n", 31, "rosewood-like"),), olds=(point("o", 40, "pear"),))
    told = change_over_alt(view(seen))
    assert "10 % from Nov 1961; 50 % from Jul 1962; 90 % from Mar 1963" in told
    assert "1 show the new, the earliest in Aug 1962" in told
    assert "1 the old, the latest in May 1963" in told


def test_a_feature_that_never_changed_gives_an_empty_sheet() -> None:
    empty = ChangeView("x", "x", "1", False, ())
    assert words(change_over_svg(empty)) == []
    assert change_over_alt(empty) == ""
