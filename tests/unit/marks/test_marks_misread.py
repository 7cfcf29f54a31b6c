"""Numbers that one number may be mistaken for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.marks.misread import ALIKE, near_numbers


@pytest.mark.parametrize(
    ("read", "listed", "misread"),
    [
        ("S10350", "S18350", 1),  # 0 for 8
        ("S10350", "s-10350", 0),
        ("S10350", "S7O380", None),  # three characters
        ("S10350", "S70380", 3),
        ("S10350", "S70350", 1),  # 1 for 7
        ("L3817", "L8311", 3),
        ("S1035?", "S10351", 0),
        ("S10350", "S10352", None),  # 0 is not taken for 2
        ("S10350", "S1035", None),
        ("S10350", "510350", 1),
    ],
)
def test_pairs(read: str, listed: str, misread: int | None) -> None:
    found = near_numbers(read, [listed])
    wanted = misread is not None and misread <= 2
    assert bool(found) is wanted
    if wanted:
        assert found[0].misread == misread


def test_the_nearest_come_first_with_their_places() -> None:
    found = near_numbers("S10350", ["S70850", "S18350", "S10350"])
    assert [(one.number, one.misread) for one in found] == [
        ("S10350", 0),
        ("S18350", 1),
        ("S70850", 2),
    ]
    assert found[1].places == ((3, "0", "8"),)
    assert found[2].places == ((2, "1", "7"), (4, "3", "8"))


@given(
    st.text("0123456789S", min_size=1, max_size=8), st.text("0123456789S", min_size=1, max_size=8)
)
def test_being_near_is_mutual(one: str, other: str) -> None:
    assert bool(near_numbers(one, [other])) == bool(near_numbers(other, [one]))


def test_every_pair_is_of_two_unlike_characters() -> None:
    assert all(len(one) == 2 and one[0] != one[1] for one in ALIKE)
    assert len({frozenset(one) for one in ALIKE}) == len(ALIKE)
