"""An outsider reads the letter that counts in the shop: the worse of two people's."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from heelstamp.casework.condition.describe import describe_condition
from heelstamp.casework.condition.grading import grades
from heelstamp.casework.papers.audience import Audience
from heelstamp.casework.papers.public_record import public_record
from heelstamp.catalogue import DossierState, Folding
from heelstamp.reference.parts_trees import load_parts_tree

TREE = load_parts_tree("guitar")
INSTRUMENT = {
    "kind": "guitar",
    "maker": "A maker",
    "model": "A model",
    "chronology": "sallowby-wherry",
    "tag": "W-1",
}


def graded(*told: tuple[str, str]) -> DossierState:
    """Letters of the hardware in their order, each with its hand."""
    folding = Folding(TREE)
    folding.add("instrument", INSTRUMENT, where="instrument")
    for number, (hand, letter) in enumerate(told):
        body = {"id": f"g-{number}", "aspect": "hardware", "grade": letter, "reason": "looked"}
        folding.add("grade", body, at=f"2026-11-0{number + 1}T09:00:00Z", by=hand, where="grade")
    return folding.state


def outside(state: DossierState) -> DossierState:
    audience = Audience("buyer", (), {})
    return public_record(state, TREE, audience, pictures={}, kept={}, late={}).state


@pytest.mark.parametrize(
    ("told", "letter", "people"),
    [
        ([("A", "D"), ("B", "C")], "D", 2),
        ([("B", "C"), ("A", "D")], "D", 2),
        ([("A", "C"), ("B", "C")], "C", 2),
        ([("A", "D"), ("A", "C")], "C", 1),
        ([("A", "D"), ("B", "D"), ("A", "B"), ("B", "C")], "C", 2),
    ],
)
def test_it_is_the_same_letter_by_as_many_people(
    told: Sequence[tuple[str, str]], letter: str, people: int
) -> None:
    state = graded(*told)
    for one in (state, outside(state)):
        (found,) = [row for row in grades(one) if row.by]
        assert (found.letter, len(found.by)) == (letter, people)
    assert [said.text for _, said in describe_condition(state, TREE).grades] == [
        said.text for _, said in describe_condition(outside(state), TREE).grades
    ]
