"""Change-overs as a census taught them: read from the document, used in place of the months."""

import tomllib
from importlib import resources
from typing import Any

import numpy as np
import pytest

from heelstamp.chronology import Chronology, dating_model, parse_chronology
from heelstamp.chronology.tables import curve_of
from heelstamp.dating.changeover import happened, variant_curves
from heelstamp.dating.model import Feature, LearnedTransition
from heelstamp.errors import InputError
from heelstamp.units import parse_month

WHERRY = resources.files("heelstamp.reference") / "chronologies" / "sallowby-wherry.toml"
CHANGE: dict[str, Any] = {
    "first": "1963-01",
    "values": [0.0, 0.25, 0.5, 1.0],
    "from": 30,
    "centre": "1963-03",
    "centre_sd": 2.5,
    "centre_90": ["1962-12", "1963-07"],
    "width": 1.4,
}
BATCH: dict[str, Any] = {
    "first": "1962-11",
    "values": [0.0, 0.4, 0.1],
    "from": 30,
    "begins": "1962-12",
    "ends": "1963-01",
    "share": 0.45,
    "share_sd": 0.1,
}


def with_learned(**changes: Any) -> Chronology:
    data = tomllib.loads(WHERRY.read_text("utf-8"))
    for row in data["feature"]:
        if row["id"] == "f12":
            row["change"][0]["learned"] = {**CHANGE, **changes}
        if row["id"] == "p2":
            row["passing"]["learned"] = BATCH
    return parse_chronology(data, name="learned.toml")


def feature(chronology: Chronology, name: str) -> Feature:
    return next(one for one in dating_model(chronology).features if one.name == name)


def test_a_learned_curve_takes_the_place_of_the_months() -> None:
    one = feature(with_learned(), "f12")
    assert one.transitions == (LearnedTransition(parse_month("1963-01"), (0.0, 0.25, 0.5, 1.0)),)
    months = np.array([parse_month(text) for text in ("1960-01", "1963-02", "1963-03", "1970-01")])
    assert happened(one.transitions[0], months).tolist() == [0.0, 0.25, 0.5, 1.0]
    row = with_learned().feature("f12")
    assert row is not None
    assert row.change[0].first_new == "1963-02"  # what was seen stays on record
    assert curve_of(row.change[0]) == one.transitions[0]


def test_a_learned_batch_comes_and_goes() -> None:
    one = feature(with_learned(), "p2")
    assert one.passing is None
    months = np.array([parse_month(text) for text in ("1962-11", "1962-12", "1963-01", "1970-01")])
    curves = variant_curves(one, months)
    assert curves[1].tolist() == [0.0, 0.4, 0.1, 0.1]
    assert curves.sum(axis=0) == pytest.approx(1)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("first", "1963-13"),
        ("centre", "spring"),
        ("values", [0.2, 1.2]),
        ("values", []),
        ("from", 0),
        ("width", 0),
        ("centre_90", ["1963-01"]),
        ("colour", "red"),
    ],
)
def test_a_broken_one_is_refused_with_its_place(field: str, value: object) -> None:
    with pytest.raises(InputError, match=r"learned\.toml.*feature 12") as caught:
        with_learned(**{field: value})
    assert "change" in caught.value.where
