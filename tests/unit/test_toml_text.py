"""TOML written is read back as the same values, whatever they are."""

import tomllib
from importlib import resources
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.toml_text import toml_text

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
SCALAR = (
    TEXT
    | st.booleans()
    | st.integers(-(2**62), 2**62)
    | st.floats(allow_nan=False)
    | st.floats(-1, 1).map(lambda x: round(x, 4))
)
KEY = st.text(st.characters(exclude_categories=("Cs",)), max_size=8)
VALUE = st.recursive(
    SCALAR | st.lists(SCALAR, max_size=40),
    lambda inner: (
        st.dictionaries(KEY, inner, max_size=8)
        | st.lists(st.dictionaries(KEY, inner, max_size=4), max_size=3)
        | st.lists(inner, max_size=3)
    ),
    max_leaves=20,
)


@settings(max_examples=300, deadline=None, derandomize=True, database=None)
@given(st.dictionaries(KEY, VALUE, max_size=6))
def test_any_document_comes_back(data: dict[str, Any]) -> None:
    assert tomllib.loads(toml_text(data)) == data


@pytest.mark.parametrize("name", ["sallowby-wherry.toml", "sallowby-lockkeeper.toml"])
def test_chronologies_come_back(name: str) -> None:
    folder = resources.files("heelstamp.reference") / "chronologies"
    data = tomllib.loads((folder / name).read_text("utf-8"))
    text = toml_text(data)
    assert tomllib.loads(text) == data
    assert toml_text(tomllib.loads(text)) == text
    assert max(len(line) for line in text.splitlines()) < 400


def test_what_has_no_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no TOML form"):
        toml_text({"a": None})
