"""TOML written reads as the same values, and a changed text keeps the comments that were in it."""

import tomllib
from importlib import resources
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.shop.toml_revision import revised, toml_of

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
DOCUMENT = st.dictionaries(KEY, VALUE, max_size=6)
CHRONOLOGIES = ["sallowby-wherry.toml", "sallowby-lockkeeper.toml"]

WRITTEN = """\
# Whose terms these are.
title = "one"  # as on the paper
received = 2026-11-02
start = "9000"

# Seen on the first.
[[feature]]
id = "f1"
# by letter
parts = [
  "neck",  # the heel
  "body",
]

[[feature.change]]
first_new = "1964-01"

# Seen on the second.
[[feature]]
id = "f2"

# From the ledger.
[serial]
spread = 3.0
knot = [
  {number = 1, month = "1964-01"},  # the oldest
  {number = 9, month = "1964-05"},
]
# The end.
"""


def chronology(name: str) -> str:
    return (resources.files("heelstamp.reference") / "chronologies" / name).read_text("utf-8")


def read(text: str) -> dict[str, Any]:
    return {**tomllib.loads(text), "received": "2026-11-02"}


@settings(max_examples=200, deadline=None, derandomize=True, database=None)
@given(DOCUMENT)
def test_any_document_comes_back(data: dict[str, Any]) -> None:
    text = toml_of(data)
    assert tomllib.loads(text) == data
    assert revised(text, data) == text


@settings(max_examples=200, deadline=None, derandomize=True, database=None)
@given(DOCUMENT, DOCUMENT)
def test_any_document_is_changed_to_any_other(
    before: dict[str, Any], after: dict[str, Any]
) -> None:
    both = {**before, **after}
    for wanted in (after, both):
        assert tomllib.loads(revised(toml_of(before), wanted)) == wanted


@pytest.mark.parametrize("name", CHRONOLOGIES)
def test_chronologies_come_back(name: str) -> None:
    data = tomllib.loads(chronology(name))
    text = toml_of(data)
    assert tomllib.loads(text) == data
    assert max(len(line) for line in text.splitlines()) < 400
    assert revised(chronology(name), data) == chronology(name)


def test_one_changed_value_changes_one_line() -> None:
    wanted = read(WRITTEN)
    wanted["title"] = "two"
    assert revised(WRITTEN, wanted) == WRITTEN.replace('"one"', '"two"')
    wanted["title"] = "one"
    wanted["serial"]["knot"][0]["month"] = "1963-12"
    changed = WRITTEN.replace('month = "1964-01"}', 'month = "1963-12"}')
    assert revised(WRITTEN, wanted) == changed


def test_what_is_added_stands_before_the_comment_of_the_next() -> None:
    wanted = read(WRITTEN)
    wanted["reserve"] = "8000"
    wanted["feature"][0]["change"].append({"first_new": "1965-02"})
    wanted["serial"]["knot"].append({"number": 12, "month": "1964-07"})
    new = '[[feature.change]]\nfirst_new = "1964-01"\n'
    expected = (
        WRITTEN.replace('start = "9000"\n', 'start = "9000"\nreserve = "8000"\n')
        .replace(new, f"{new}\n{new.replace('1964-01', '1965-02')}")
        .replace('"1964-05"},\n', '"1964-05"},\n  {number = 12, month = "1964-07"},\n')
    )
    assert revised(WRITTEN, wanted) == expected


def test_a_comment_goes_with_its_row_and_no_other() -> None:
    wanted = read(WRITTEN)
    del wanted["feature"][0]
    text = revised(WRITTEN, wanted)
    assert "Seen on the first" not in text
    assert '# Seen on the second.\n[[feature]]\nid = "f2"\n\n# From the ledger.\n[serial]' in text
    wanted = read(WRITTEN)
    del wanted["feature"][1]
    text = revised(WRITTEN, wanted)
    assert "Seen on the second" not in text
    assert '"1964-01"\n\n# From the ledger.\n[serial]' in text


def test_what_has_no_form_is_refused() -> None:
    with pytest.raises(TypeError):
        toml_of({"a": None})
    with pytest.raises(TypeError):
        revised("a = 1", {"a": None})


def test_a_row_on_one_line_that_gets_a_table_is_written_under_headers() -> None:
    text = (
        '# Seen.\n[[feature]]\nchange = [{ first = "1964-01" }]  # by letter\nid = "f1"\n# End.\n'
    )
    wanted = tomllib.loads(text)
    wanted["feature"][0]["change"][0]["learned"] = {"values": [0.5] * 20, "from": 3}
    new = revised(text, wanted)
    assert tomllib.loads(new) == wanted
    assert new.startswith('# Seen.\n[[feature]]\nid = "f1"\n')
    assert "[[feature.change]]\n" in new
    assert "[feature.change.learned]\n" in new
