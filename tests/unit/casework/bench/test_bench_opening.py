"""The next tag of a shop."""

import pytest

from heelstamp.casework.opening import FIRST_TAG, next_tag


@pytest.mark.parametrize(
    ("newest", "taken", "wanted"),
    [
        (None, set(), FIRST_TAG),
        ("H-0001", {"H-0001"}, "H-0002"),
        ("H-0009", {"H-0009", "H-0010"}, "H-0011"),
        ("H-9999", set(), "H-10000"),
        ("2026-117b", set(), "2026-118b"),
        ("7", set(), "8"),
        ("wherry", set(), ""),
        ("x" * 36 + "9999", set(), ""),
        ("9" * 40, set(), ""),
    ],
)
def test_a_tag_is_counted_on_from_the_newest(
    newest: str | None, taken: set[str], wanted: str
) -> None:
    assert next_tag(newest, lambda tag: tag in taken) == wanted
