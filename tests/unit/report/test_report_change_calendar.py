import xml.etree.ElementTree as ET

from heelstamp.chronology.change_view import change_views
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.report.change_calendar import (
    LETTER_MM,
    WIDTH_MM,
    change_calendar_alt,
    change_calendar_svg,
    turning,
)
from heelstamp.units import name_month, parse_month

SPACE = "{http://www.w3.org/2000/svg}"
WHERRY = load_chronology("sallowby-wherry")
VIEWS = change_views(WHERRY)
SPAN = parse_month(WHERRY.production.first), parse_month(WHERRY.production.last)


def test_every_change_over_has_its_row_in_the_order_of_time() -> None:
    picture = ET.fromstring(change_calendar_svg(VIEWS, SPAN))
    count = sum(len(one.changes) for one in VIEWS)
    assert len(list(picture.iter(f"{SPACE}polygon"))) == count
    drawn = [one for one in picture.iter(f"{SPACE}text") if "stroke" not in one.attrib]
    told = [one.text or "" for one in drawn]
    rows = [one for one in told if ":" in one or "…" in one]
    assert len(rows) == count
    assert rows[0].startswith("tuners")
    assert rows[-1].startswith("tuner cover")
    months = sorted(turning(one) for view in VIEWS for one in view.changes)
    assert change_calendar_alt(VIEWS).index(name_month(months[0])) < change_calendar_alt(
        VIEWS
    ).index(name_month(months[-1]))


def test_nothing_leaves_the_sheet() -> None:
    picture = ET.fromstring(change_calendar_svg(VIEWS, SPAN))
    for one in picture.iter(f"{SPACE}polygon"):
        for pair in one.attrib["points"].split():
            assert 0 <= float(pair.split(",")[0]) <= WIDTH_MM
    for one in picture.iter(f"{SPACE}text"):
        x, letters = float(one.attrib["x"]), LETTER_MM * len(one.text or "")
        left = x - letters if one.attrib["text-anchor"] == "end" else x
        assert left >= -0.1
        assert left + letters <= WIDTH_MM + 0.1


def test_a_maker_without_features_gives_an_empty_calendar() -> None:
    assert "<svg" in change_calendar_svg((), SPAN)
