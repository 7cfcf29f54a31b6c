"""A maker of one's own begins with nothing of any other, and says little until it knows more."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.wherry_examinations import look, state_of
from heelstamp.casework.dating import date_instrument
from heelstamp.chronology import dating_model
from heelstamp.chronology.blank import LOT_HABITS, KnownOfMaker, blank_chronology
from heelstamp.chronology.document import parse_chronology
from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import tree_loader
from heelstamp.reference.tables import mark_context
from heelstamp.shop.makers import document_of_kind
from heelstamp.units import parse_month

TODAY = "2026-12-01"
KINDS = {kind: document_of_kind(kind) for kind in ("guitar", "bass")}


def known(**told: str) -> KnownOfMaker:
    return KnownOfMaker(**{"maker": "Hollis", "model": "Drifter", "first": "1958"} | told)


def blank(kind: str = "guitar", **told: str) -> dict[str, Any]:
    return blank_chronology(
        KINDS[kind],
        known(**{"last": "1967"} | told),
        id_="own-one",
        today=TODAY,
        tree=tree_loader()(kind),
    )


def texts(value: Any) -> set[str]:
    if isinstance(value, dict):
        return {one for inner in value.values() for one in texts(inner)}
    if isinstance(value, list):
        return {one for inner in value for one in texts(inner)}
    return {value} if isinstance(value, str) else set()


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["guitar", "bass"]),
    st.integers(1930, 2015),
    st.integers(0, 60),
    st.sampled_from(list(LOT_HABITS)),
)
def test_any_years_of_production_make_a_sound_chronology(
    kind: str, first: int, years: int, lots: str
) -> None:
    document = blank(kind, first=str(first), last=str(min(first + years, 2026)), lots=lots)
    made = parse_chronology(document, name="own-one.toml")
    dating_model(made)
    assert not made.invented
    assert made.features == ()
    assert made.serial is None
    assert made.writings == ()
    assert parse_month(made.production.first) == 12 * first


@pytest.mark.parametrize("kind", ["guitar", "bass"])
def test_nothing_of_the_maker_it_was_made_from_is_left(kind: str) -> None:
    like, made = KINDS[kind], blank(kind)
    for table in ("feature", "serial", "writing", "source_code", "exception"):
        assert table not in made
    names = {one["id"] for one in like["feature"]} | {one["name"] for one in like["feature"]}
    names |= {like["id"], like["maker"], like["model"], like["note"]}
    assert not (names - {one["key"] for one in like["part"]}) & texts(made)
    assert all("lag" not in part for part in made["part"])


def width(document: dict[str, Any], *marks: tuple[str, str]) -> int:
    made = parse_chronology(document, name="own-one.toml")
    kind = [look(part, part, "mark", text=text) for part, text in marks]
    found = date_instrument(state_of(kind), made, mark_context()).completion
    assert found.interval["90"] is not None, found.withheld
    first, last = (parse_month(one) for one in found.interval["90"])
    assert parse_month(made.production.first) <= first <= last <= parse_month(made.production.last)
    return last - first + 1


def test_marks_and_default_delays_alone_give_a_wide_range() -> None:
    """Wider than with the known delays of a maker; the code's month lies at or before its end."""
    one = width(blank(), ("pot_volume", "137-6143"))
    two = width(blank(), ("pot_volume", "137-6143"), ("pot_tone", "137-6143"))
    assert 12 <= two <= one
    assert one >= 12


def test_what_is_known_is_taken_over() -> None:
    made = parse_chronology(
        blank(
            points="1200 1959-03\n6400 1965-11\n",
            changes="Pickguard; screws of the guard; eight; eleven; 1959-05; 1959-09",
            lots="usually",
        ),
        name="own-one.toml",
    )
    assert made.serial is not None
    assert [(one.number, one.month) for one in made.serial.knot] == [
        (1200, "1959-03"),
        (6400, "1965-11"),
    ]
    assert [(one.name, one.variants) for one in made.features] == [
        ("screws of the guard", ["eight", "eleven"])
    ]
    assert [one.parts for one in made.features] == [["guard"]]
    assert {one.share for one in made.batches} == {0.8}
    assert any(one.name == "screws of the guard" for one in made.inspections)
    dating_model(made)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"last": "1950"}, "ends before it begins"),
        ({"last": "soon"}, "not a year or month"),
        ({"maker": " "}, "no maker is named"),
        ({"points": "1200 1959-03"}, "one point makes no curve"),
        ({"points": "1200 1959-03\nabout 6400"}, "line 2"),
        ({"points": "1200 1959-13\n1300 1960-01"}, "line 1"),
        ({"changes": "guard; screws; eight"}, "line 1"),
        ({"changes": "pikguard; screws; eight; eleven; 1959-05; 1959-09"}, "pickguard"),
        ({"points": "1200 1959-03\n6400 1965-11", "serial_part": "lid"}, "field serial part"),
        ({"lots": "always"}, "no such habit"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line(told: dict[str, str], said: str) -> None:
    with pytest.raises(InputError, match=said):
        blank(**told)
