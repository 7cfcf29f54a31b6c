"""Canonical JSON: the edges where it refuses, each with place and remedy."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.archive import canonical_json, read_json
from heelstamp.archive.canonical import LARGEST_INTEGER
from heelstamp.errors import InputError

values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(values)
def test_reading_back_and_writing_again_changes_no_byte(value: Any) -> None:
    written = canonical_json(value)
    assert canonical_json(read_json(written)) == written


@given(st.dictionaries(st.text(), st.integers(0, 9), min_size=2))
def test_the_order_of_names_does_not_matter(value: dict[str, int]) -> None:
    assert canonical_json(dict(reversed(value.items()))) == canonical_json(value)


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ({"a": [1, float("nan")]}, r"entry 3, field a\[1\]: a number that is not finite"),
        ({"a": {"b": 2**53}}, r"field a\.b: a whole number too large"),
        ({"a": -(2**53)}, "too large"),
        ({"a": "\ud800"}, "lone surrogate"),
        ({"\udc00": 1}, "lone surrogate"),
        ({1: 2}, "a name that is not text"),
        ({"a": {1, 2}}, "JSON has no form for a set"),
        ({"a": b"x"}, "JSON has no form for a bytes"),
    ],
)
def test_what_has_no_canonical_form_is_refused(value: Any, message: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        canonical_json(value, where="entry 3")
    assert caught.value.remedy


def test_nesting_is_bounded() -> None:
    deep: list[Any] = []
    for _ in range(100):
        deep = [deep]
    with pytest.raises(InputError, match="nested too deeply"):
        canonical_json(deep)
    with pytest.raises(InputError, match="nested too deeply"):
        read_json("[" * 100_000)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"a": 1,\n "b" 2}', r"f\.json, line 2, column 6: broken JSON"),
        ('{"a": 1, "a": 2}', r"a name comes twice \(received: a\)"),
        ('{"a": NaN}', "no such number"),
        ('{"a": [1, 2', "the end of the text"),
        (b'{"a": "\xff"}', "byte 8: not UTF-8"),
        ("", "broken JSON"),
    ],
)
def test_broken_json_names_the_place(text: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_json(text, where="f.json")


def test_sequences_and_mappings_of_any_class_are_taken() -> None:
    assert canonical_json({"a": (1, 2)}) == b'{"a":[1,2]}'
