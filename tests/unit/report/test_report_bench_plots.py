"""The plots are well-formed, hold their words and units, and keep within the sheet."""

import re
from xml.etree import ElementTree as ET

import pytest

from heelstamp.report.bench_plots import (
    Bow,
    Series,
    Value,
    action_svg,
    clearance_svg,
    intonation_svg,
    relief_svg,
    tension_svg,
)


def value(middle, reach=1.0):
    return Value(middle, middle - reach, middle + reach)


def words(picture):
    return [one.text for one in ET.fromstring(picture).iter("{http://www.w3.org/2000/svg}text")]


def inside(picture):
    root = ET.fromstring(picture)
    width, height = (float(one) for one in root.get("viewBox").split()[2:])
    for one in root.iter():
        for name in ("x", "x1", "x2", "cx"):
            if one.get(name):
                assert -0.01 <= float(one.get(name)) <= width
        for name in ("y", "y1", "y2", "cy"):
            if one.get(name):
                assert -0.01 <= float(one.get(name)) <= height


def test_tension():
    sets = [Series("found", (value(86.0), value(90.0))), Series("new", (value(57.0), None))]
    picture = tension_svg(sets, ["E4\n.011", "E2\n.050"], title="Tension <by> string")
    assert {"Tension <by> string", "tension (N)", "found", "new", "E4", ".050"} <= set(
        words(picture)
    )
    inside(picture)


def test_action_leaves_a_gap_where_a_side_was_not_read():
    sides = [
        Series("treble side", (value(2.3, 0.1), None)),
        Series("bass side", (value(2.8, 0.1),) * 2),
    ]
    picture = action_svg(sides, ["before", "new strings\npredicted"], title="Action")
    assert {"action at 12 (mm)", "treble side", "bass side", "before", "predicted"} <= set(
        words(picture)
    )
    assert picture.count('stroke-width="0.4"') == 2 + 3  # two in the key, three bars
    inside(picture)


def test_relief():
    places = tuple(float(10 * n) for n in range(22))
    bows = [Bow("found 0.46 mm", tuple(-0.004 * n * (21 - n) for n in range(22)))]
    picture = relief_svg(bows, places, joint=16, read_at=8, title="Bow")
    told = words(picture)
    assert "fret tops against the line (mm)" in told
    assert "0.42" in told  # 0.004 · 8 · 13, at the reading's place
    assert any("joins the body at 16" in one for one in told)
    inside(picture)


def test_clearance_shades_what_meets_a_fret():
    rows = (value(0.3, 0.1), value(-0.3, 0.1), None)
    picture = clearance_svg([Series("treble side", rows)], title="Margin")
    assert {"open", "1", "2", "margin (mm)", "meets a fret"} <= set(words(picture))
    inside(picture)
    clear = clearance_svg([Series("treble side", (value(0.3, 0.1),))], title="Margin")
    assert "meets a fret" not in words(clear)


def test_intonation_below_nought_stays_on_the_sheet():
    picture = intonation_svg(
        [Series("cent", (value(-4.0), value(7.0, 0.0)))], ["1", "2"], title="I"
    )
    inside(picture)
    assert {"−4", "−6"} & set(words(picture))


@pytest.mark.parametrize("size", [0.001, 0.3, 7.0, 950.0])
def test_axes_are_round_for_any_size(size):
    picture = tension_svg([Series("a", (value(size, size / 10),))], ["1"], title="t")
    numbers = [one for one in words(picture) if re.fullmatch(r"[−\d.]+", one or "")]
    assert 4 <= len(numbers) <= 12
    inside(picture)
