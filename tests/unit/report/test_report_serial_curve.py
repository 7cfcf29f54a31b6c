"""The picture of a serial curve: its points, its scatter, and the numbers stamped twice."""

import xml.etree.ElementTree as ET

import pytest

from heelstamp.chronology.serials import SerialCurve
from heelstamp.report import svg
from heelstamp.report.serial_curve import LEFT_MM, RIGHT_MM, serial_curve_alt, serial_curve_svg
from heelstamp.units import parse_month

FIRST, LAST = parse_month("1957-01"), parse_month("1966-12")


def curve(*prefixes: str, duplicated: tuple[tuple[int, int], ...] = ()) -> SerialCurve:
    knots = {
        prefix: (
            (1000, parse_month("1958-01")),
            (5000, parse_month("1960-01")),
            (9000, parse_month("1965-01")),
        )
        for prefix in prefixes
    }
    return SerialCurve(knots, FIRST, LAST, duplicated)


def drawn(one: SerialCurve, spread: float = 4.0) -> ET.Element:
    return ET.fromstring(serial_curve_svg(one, spread))


def words(picture: ET.Element) -> list[str]:
    return [one.text or "" for one in picture.iter() if one.tag.endswith("text")]


def test_each_point_stands_where_its_month_and_number_say() -> None:
    circles = [one for one in drawn(curve("S")).iter() if one.tag.endswith("circle")]
    assert len(circles) == 3
    step = (RIGHT_MM - LEFT_MM) / (LAST - FIRST + 1)
    at = [
        LEFT_MM + (parse_month(m) - FIRST + 0.5) * step for m in ("1958-01", "1960-01", "1965-01")
    ]
    assert [float(one.get("cx", "")) for one in circles] == pytest.approx(at, abs=0.01)
    heights = [float(one.get("cy", "")) for one in circles]
    assert heights[0] - heights[1] == pytest.approx(heights[1] - heights[2], abs=0.02)


def test_the_scatter_is_as_wide_as_nine_of_ten() -> None:
    """1.645 standard deviations to either side hold 90 % of a normal (table of the normal)."""
    polygons = [one for one in drawn(curve("S"), 6.0).iter() if one.tag.endswith("polygon")]
    band = [tuple(map(float, pair.split(","))) for pair in polygons[0].get("points", "").split()]
    step = (RIGHT_MM - LEFT_MM) / (LAST - FIRST + 1)
    widths = {
        round(max(x for x, y in band if y == level) - min(x for x, y in band if y == level), 1)
        for level in {y for _, y in band[1:2]}
    }
    assert widths == {round(2 * 1.645 * 6.0 * step, 1)}


def test_each_prefix_has_its_own_part_and_numbers_stamped_twice_are_named() -> None:
    told = words(drawn(curve("S", "L", duplicated=((2000, 2099),))))
    assert any(one.startswith("Prefix S") for one in told)
    assert any(one.startswith("Prefix L") for one in told)
    assert any("2000 to 2099" in one and "twice" in one for one in told)


def test_a_curve_without_prefix_says_no_prefix() -> None:
    assert not any(one.startswith("Prefix") for one in words(drawn(curve(""))))


def test_the_words_name_every_point_and_the_scatter() -> None:
    told = serial_curve_alt(curve("S", duplicated=((2000, 2099),)), 4.0)
    for one in ("S1000", "Jan 1958", "S9000", "Jan 1965", "4 months", "2000 to 2099"):
        assert one in told


def test_letters_are_large_enough_and_equal_input_gives_equal_bytes() -> None:
    picture = drawn(curve("S"))
    sizes = [float(one.get("font-size", "0")) for one in picture.iter() if one.tag.endswith("text")]
    assert min(sizes) >= svg.TEXT_MM
    assert serial_curve_svg(curve("S"), 4.0) == serial_curve_svg(curve("S"), 4.0)
