"""docs/methods/chronology.md names every table and field, and its example is right."""

import re
import tomllib
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from heelstamp.chronology import document, parse_chronology
from heelstamp.chronology.records import (
    Change,
    FromMark,
    Gap,
    Knot,
    LagTable,
    LevelTable,
    Passing,
    Record,
)
from heelstamp.chronology.tables import transition
from heelstamp.dating.changeover import logistic
from heelstamp.units import parse_month

PAGE = (Path(__file__).resolve().parents[3] / "docs" / "methods" / "chronology.md").read_text(
    "utf-8"
)
SECTIONS = dict(re.findall(r"^### (\w+)\n(.*?)(?=^##|\Z)", PAGE, re.MULTILINE | re.DOTALL))
TABLES: dict[str, type[Record]] = {**document._SINGLE, **document._LISTS}
INNER: list[tuple[str, type[Record]]] = [
    ("timing", Gap),
    ("timing", LagTable),
    ("serial", Knot),
    ("feature", Change),
    ("feature", Passing),
    ("feature", FromMark),
    ("part", LevelTable),
]
WHERRY = resources.files("heelstamp.reference") / "chronologies" / "sallowby-wherry.toml"


@pytest.mark.parametrize("table", TABLES)
def test_every_field_of_every_table_is_told(table: str) -> None:
    for field in TABLES[table].__struct_fields__:
        assert f"`{field}`" in SECTIONS[table], f"{table}.{field}"


@pytest.mark.parametrize(("table", "record"), INNER)
def test_every_field_inside_a_field_is_told(table: str, record: type[Record]) -> None:
    for field in record.__struct_fields__:
        assert f"`{field}`" in SECTIONS[table], f"{table}: {record.__name__}.{field}"


def test_the_head_and_the_other_tables_are_told() -> None:
    for field in document._HEAD:
        assert f"`{field}`" in PAGE
    for name in ("group_failure", "careful", "words"):
        assert f"`[{name}]`" in PAGE


def test_the_example_row_is_read() -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    (row,) = tomllib.loads(example)["feature"]
    data = tomllib.loads(WHERRY.read_text("utf-8"))
    data["feature"] = [row if one["id"] == row["id"] else one for one in data["feature"]]
    chronology = parse_chronology(data, name="example")
    feature = chronology.feature(row["id"])
    assert feature is not None
    change = transition(feature.change[0])
    assert (change.centre, change.width) == (parse_month("1963-05"), 1.5)
    months = np.array([parse_month(one) for one in ("1962-11", "1963-02", "1963-05", "1963-08")])
    percent = np.round(100 * logistic((months - change.centre) / change.width)).tolist()
    assert percent == [2, 12, 50, 88]
    assert "2 % have brass in Nov 1962, 12 % in Feb 1963, half in May, 88 % in Aug" in " ".join(
        PAGE.split()
    )
