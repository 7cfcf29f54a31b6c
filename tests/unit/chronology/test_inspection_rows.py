"""Access and inspection rows of a chronology: what they may name, and where an error points."""

import tomllib
from copy import deepcopy
from importlib.resources import files
from typing import Any

import pytest

from fakes.hero_stages import bare
from heelstamp.casework.inspections.access import ways
from heelstamp.chronology import parse_chronology
from heelstamp.errors import InputError
from heelstamp.reference.chronology_files import chronology_ids, load_chronology
from heelstamp.reference.parts_trees import load_parts_tree

TEXT = files("heelstamp.reference").joinpath("chronologies/sallowby-wherry.toml").read_text("utf-8")
DATA = tomllib.loads(TEXT)


def changed(table: str, index: int, **fields: Any) -> dict[str, Any]:
    data = deepcopy(DATA)
    data[table][index] |= fields
    return data


def shown(**reveal: Any) -> dict[str, Any]:
    return changed("inspection", 0, reveals=[reveal])


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (changed("access", 1, opening="outside"), "already"),
        (changed("access", 2, after=["attic"]), "no such opening"),
        (changed("access", 2, after=["guard"]), "comes after itself"),
        (changed("access", 3, invasiveness=5), "access 4"),
        (changed("access", 3, caution=["bees"]), "access 4"),
        (changed("inspection", 1, id="plate_number"), "taken"),
        (changed("inspection", 1, opening="attic"), "no access row"),
        (changed("inspection", 1, readable=1.2), "inspection 2"),
        (changed("inspection", 1, reveals=[]), "inspection 2"),
        (shown(kind="feature", feature="f99"), "feature that is not there"),
        (shown(kind="feature"), "give feature"),
        (shown(kind="mark", part="neck", feature="f09"), "give feature"),
        (shown(kind="mark"), "leaves open which part"),
        (shown(kind="mark", part="elbow"), "where it is not known"),
        (shown(kind="feature", feature="g6"), "leaves open which part"),
        (shown(kind="feature", feature="f07", part="neck"), "where it is not known"),
        (shown(kind="sign", sign="smell"), "sign that is not there"),
        (shown(kind="sign", sign="solder_joints", part="neck"), "where it is not known"),
        (shown(kind="sign", sign="screw_heads", part="neck"), "where it is not known"),
        (shown(kind="sign", sign="screw_heads", part="guard", error=0.1), "belongs to a mark"),
    ],
)
def test_a_broken_row_is_refused(data: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        parse_chronology(data, name="wherry.toml")
    assert "wherry.toml" in str(caught.value)


def test_an_error_names_the_line() -> None:
    line = 1 + TEXT[: TEXT.index('opening = "outside"\ninvasiveness = 0\nminutes = 2')].count("\n")
    data = changed("inspection", 0, opening="attic")
    with pytest.raises(InputError, match=f"line {line}"):
        parse_chronology(data, name="wherry.toml", text=TEXT)


def test_a_serial_look_needs_a_serial_table() -> None:
    data = {key: value for key, value in DATA.items() if key != "serial"}
    data["prior"] = {**DATA["prior"], "volume": {"1960": 1.0}}
    with pytest.raises(InputError, match="no serial table"):
        parse_chronology(data, name="wherry.toml")


def test_without_these_rows_a_chronology_is_sound() -> None:
    data = {key: value for key, value in DATA.items() if key not in ("access", "inspection")}
    read = parse_chronology(data, name="wherry.toml")
    assert read.accesses == ()
    assert read.inspections == ()


@pytest.mark.parametrize("name", chronology_ids())
def test_bundled_lists_are_whole(name: str) -> None:
    chronology = load_chronology(name)
    tree = load_parts_tree(chronology.kind)
    assert {row.opening for row in chronology.accesses} == {one.key for one in tree.openings}
    assert len(chronology.inspections) >= 20
    # level 4 is listed, so that it is known what is never proposed
    assert sum(row.invasiveness == 4 for row in chronology.inspections) == 2
    shown_features = {
        reveal.feature for row in chronology.inspections for reveal in row.reveals if reveal.feature
    }
    by_other = {
        row.id
        for row in chronology.features
        if row.from_mark or row.from_serial or row.from_source_code
    }
    assert shown_features | by_other == {row.id for row in chronology.features}
    for row in chronology.inspections:
        for reveal in row.reveals:
            known = chronology.feature(reveal.feature or "")
            if known is not None and known.id != "f08":
                assert row.opening in (known.seen_from, "case"), row.id


def test_an_opening_that_the_instrument_has_not_is_refused() -> None:
    data = deepcopy(DATA)
    data["access"].append({"opening": "lid", "invasiveness": 0, "minutes": 1})
    chronology = parse_chronology(data, name="wherry.toml")
    with pytest.raises(InputError, match="no such opening"):
        ways(bare(), load_parts_tree("guitar"), chronology, ())
