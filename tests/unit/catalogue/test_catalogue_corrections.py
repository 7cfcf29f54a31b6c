"""Corrections of corrections, compared with a slow rule written another way.

The slow rule replays history: it strikes out, from the youngest correction to the oldest, every
correction that a standing later one withdraws, and takes what is left in order.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.catalogue import Folding

INSTRUMENT = {"kind": "guitar", "maker": "m", "model": "Wherry", "chronology": "c"}
START = {"id": "d0", "about": "neck", "decided": "0", "reason": "r"}


def folded(aims: list[tuple[int, bool]]) -> Folding:
    """Fold one decision and corrections; each aims at an earlier one and withdraws or replaces."""
    folding = Folding()
    folding.add("instrument", INSTRUMENT, where="1")
    folding.add("decision", START, where="2")
    for number, (target, withdraws) in enumerate(aims, start=1):
        replacement = None if withdraws else {**START, "decided": str(number)}
        body: dict[str, Any] = {"reason": "slip", "replacement": replacement}
        body |= {"id": f"d{number}", "corrects": f"d{target}"}
        folding.add("correction", body, where=str(number))
    return folding


def slow(aims: list[tuple[int, bool]]) -> str | None:
    """What stands: None when withdrawn, else the number of what said it."""
    said: dict[int, str | None] = {0: "0"}
    said |= {n: None if withdraws else str(n) for n, (_, withdraws) in enumerate(aims, start=1)}
    undone: set[int] = set()
    for number in range(len(aims), 0, -1):
        target, _ = aims[number - 1]
        if number in undone or target == 0:
            continue
        later = [n for n in range(number + 1, len(aims) + 1) if aims[n - 1][0] == target]
        if any(n not in undone for n in later):
            continue  # a later standing word on the same correction counts instead
        if said[number] is None:
            undone.add(target)
        else:
            said[target] = said[number]
    standing = [n for n, (t, _) in enumerate(aims, start=1) if t == 0 and n not in undone]
    return said[standing[-1]] if standing else "0"


def stands(folding: Folding) -> str | None:
    found = folding.state.decisions.get("d0")
    return None if found is None else found.decided


@pytest.mark.parametrize(
    ("aims", "expected"),
    [
        ([], "0"),
        ([(0, False)], "1"),
        ([(0, True)], None),
        ([(0, False), (0, False)], "2"),
        ([(0, False), (1, True)], "0"),  # the correction is undone
        ([(0, False), (1, False)], "2"),  # the correction is corrected
        ([(0, True), (1, True)], "0"),  # the withdrawal is undone
        ([(0, False), (1, True), (2, True)], "1"),  # the undoing is undone
        ([(0, False), (0, False), (1, True)], "2"),  # an older one is undone
        ([(0, False), (0, False), (2, True)], "1"),  # the younger one is undone
        ([(0, True), (0, False)], "2"),  # taken up again
        ([(0, False), (1, True), (1, False)], "3"),  # undone, then put otherwise
    ],
)
def test_known_cases(aims: list[tuple[int, bool]], expected: str | None) -> None:
    assert stands(folded(aims)) == expected
    assert slow(aims) == expected


@st.composite
def chains(draw: st.DrawFn) -> list[tuple[int, bool]]:
    length = draw(st.integers(0, 9))
    return [(draw(st.integers(0, n)), draw(st.booleans())) for n in range(length)]


@given(chains())
def test_the_fold_agrees_with_the_slow_rule(aims: list[tuple[int, bool]]) -> None:
    assert stands(folded(aims)) == slow(aims)


@given(chains())
def test_exactly_one_version_stands_and_none_is_lost(aims: list[tuple[int, bool]]) -> None:
    history = folded(aims).state.history["d0"]
    assert [version.entry for version in history] == [f"d{n}" for n in range(len(aims) + 1)]
    assert sum(version.stands for version in history) == 1
