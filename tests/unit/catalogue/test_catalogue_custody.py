"""Custody: the table is closed, the diagram in the documentation is the table's."""

from pathlib import Path

import pytest

from heelstamp.catalogue.custody import (
    EVENTS,
    HAND_OVERS,
    NOT_RECEIVED,
    STATES,
    TRANSITIONS,
    check_event,
    diagram,
    next_state,
    possible_events,
)
from heelstamp.errors import ConflictError, InputError

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "custody.md"


def test_every_state_can_be_reached_and_left() -> None:
    reached = {NOT_RECEIVED}
    for _ in STATES:
        reached |= {after for (before, _), after in TRANSITIONS.items() if before in reached}
    assert reached == set(STATES)
    assert all(possible_events(state) for state in STATES)


def test_every_event_that_is_not_in_the_table_is_refused() -> None:
    for state in STATES:
        for event in EVENTS:
            if (state, event) in TRANSITIONS:
                assert next_state(state, event) == TRANSITIONS[state, event]
            else:
                with pytest.raises(ConflictError) as caught:
                    next_state(state, event, where="entry 5")
                assert caught.value.remedy == f"Possible now: {', '.join(possible_events(state))}."


def test_a_sale_and_a_return() -> None:
    state = NOT_RECEIVED
    for event in ("received", "to bench", "locked up", "unlocked", "to carrier", "to buyer"):
        state = next_state(state, event)
    assert state == "with the buyer"
    assert next_state(state, "came back") == "in the shop"


@pytest.mark.parametrize("event", sorted(HAND_OVERS))
def test_a_hand_over_names_both_hands(event: str) -> None:
    check_event(event, giver="a consignor", receiver="examiner A")
    with pytest.raises(InputError, match="does not name the receiver"):
        check_event(event, giver="a consignor", receiver="")


def test_within_the_house_no_hands_need_be_named() -> None:
    for event in set(EVENTS) - HAND_OVERS:
        check_event(event, giver="", receiver="")


def test_the_diagram_in_the_documentation_is_generated_from_the_table() -> None:
    assert f"```mermaid\n{diagram()}```" in PAGE.read_text("utf-8")


def test_the_diagram_draws_every_transition() -> None:
    assert diagram().count(" --> ") == len(TRANSITIONS) + 1
