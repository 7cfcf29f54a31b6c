import xml.etree.ElementTree as ET
from typing import get_args

import pytest

from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.report import drawing
from heelstamp.wording.about_parts import Verdict

KINDS = ("guitar", "bass")
NS = "{http://www.w3.org/2000/svg}"


def rows(kind: str, verdict: Verdict = "original") -> list[PartRow]:
    keys = load_parts_tree(kind).keys
    return [PartRow(key, n, key, verdict) for n, key in enumerate(keys, start=1)]


def callouts(picture: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(picture).iter(f"{NS}text")]


@pytest.mark.parametrize("kind", KINDS)
def test_every_drawn_part_has_one_number(kind: str) -> None:
    table = rows(kind)
    told = callouts(drawing.drawing_svg(kind, table))
    for row in table:
        times = 1 if row.key in drawing.drawn_keys(kind) else 0
        assert told.count(str(row.number)) == times, row.key


@pytest.mark.parametrize("kind", KINDS)
def test_numbers_stay_on_the_sheet_and_apart(kind: str) -> None:
    root = ET.fromstring(drawing.drawing_svg(kind, rows(kind)))
    places = [
        (float(node.attrib["x"]), float(node.attrib["y"]))
        for node in root.iter(f"{NS}text")
        if (node.text or "").isdigit()
    ]
    for index, (x, y) in enumerate(places):
        assert 0.0 <= x <= drawing.WIDTH_MM
        for other_x, other_y in places[index + 1 :]:
            assert abs(x - other_x) > 6.0 or abs(y - other_y) > drawing.SPACING_MM - 0.6


def test_every_verdict_has_a_letter_and_those_of_parts_a_pattern_of_their_own() -> None:
    assert set(drawing.LETTERS) == set(get_args(Verdict))
    drawn = list(drawing.LEGEND)
    assert len({drawing.LETTERS[one] for one in drawn}) == len(drawn)
    assert len({drawing._FILLS[one] for one in drawn}) == len(drawn)


@pytest.mark.parametrize("verdict", list(drawing.LEGEND))
def test_the_legend_names_what_is_drawn_and_nothing_else(verdict: Verdict) -> None:
    told = callouts(drawing.drawing_svg("guitar", rows("guitar", verdict)))
    assert drawing.LEGEND[verdict] in told
    assert not {words for one, words in drawing.LEGEND.items() if one != verdict} & set(told)


def test_parts_without_a_row_are_drawn_without_a_number() -> None:
    told = callouts(drawing.drawing_svg("guitar", []))
    assert not [one for one in told if one.isdigit()]


def test_the_drawing_is_described_in_words() -> None:
    told = drawing.drawing_alt(rows("guitar"), "guitar")
    assert "tuner_4: original" in told
    assert "strings" not in told
