"""The reliability diagram: points where they belong, legible, the same bytes for the same input."""

import re
import xml.etree.ElementTree as ET

from heelstamp.report.reliability import (
    HEIGHT_MM,
    WIDTH_MM,
    ReliabilityPoint,
    reliability_alt,
    reliability_svg,
)

POINTS = [ReliabilityPoint(0.5, 0.48, 0.35, 0.62, 28), ReliabilityPoint(0.9, 0.93, 0.8, 0.97, 28)]


def drawn(points: list[ReliabilityPoint]) -> str:
    return reliability_svg(points, title="A <b> & c", across="said", upwards="seen")


def test_it_is_well_formed_and_repeatable() -> None:
    ET.fromstring(drawn(POINTS))
    assert drawn(POINTS) == drawn(POINTS)
    assert "A &lt;b&gt; &amp; c" in drawn(POINTS)
    assert f'viewBox="0 0 {WIDTH_MM:g} {HEIGHT_MM:g}"' in drawn(POINTS)


def test_a_point_on_the_diagonal_lies_on_it() -> None:
    (one,) = re.findall(
        r'<circle cx="([\d.]+)" cy="([\d.]+)"', drawn([ReliabilityPoint(0.25, 0.25, 0.2, 0.3, 9)])
    )
    x1, y1, x2, y2 = map(
        float,
        re.findall(
            r'x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)"[^>]*stroke-dasharray',
            drawn(POINTS),
        )[0],
    )
    assert float(one[0]) == x1 + 0.25 * (x2 - x1)
    assert float(one[1]) == y1 + 0.25 * (y2 - y1)


def test_counts_stand_below_where_equal_and_beside_where_not() -> None:
    assert "28 instruments" in drawn(POINTS)
    other = drawn([*POINTS, ReliabilityPoint(0.2, 0.2, 0.1, 0.3, 7)])
    assert "28 instruments" not in other
    assert other.count(">28</text>") >= 2
    assert ">7</text>" in other


def test_it_is_told_in_words_too() -> None:
    told = reliability_alt(POINTS, title="Ranges")
    assert told.startswith("Ranges. said 50 %, seen 48 % (35 to 62 % by chance, 28); said 90 %")
