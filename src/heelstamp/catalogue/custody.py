"""Whose hands the instrument is in: one table of states and events.

Two rules: every change of custody is in `TRANSITIONS`, and nothing else in the program decides
what may follow what. The words are the trade's (common practice, no source); the idea of a
recorded transfer is CIDOC CRM E10, Transfer of Custody. The diagram in the documentation is
generated from this table. Nothing here knows a person or a time, and the table does not say who
owns the instrument: custody is not title.
"""

from __future__ import annotations

from heelstamp.catalogue.conversion import nearest
from heelstamp.errors import ConflictError, InputError

NOT_RECEIVED = "not received"

TRANSITIONS: dict[tuple[str, str], str] = {
    (NOT_RECEIVED, "received"): "in the shop",
    ("in the shop", "to bench"): "on the bench",
    ("in the shop", "locked up"): "locked up",
    ("in the shop", "sent out"): "out for work",
    ("in the shop", "to carrier"): "with the carrier",
    ("in the shop", "to buyer"): "with the buyer",
    ("in the shop", "to owner"): "back with the owner",
    ("in the shop", "missed"): "missing",
    ("on the bench", "from bench"): "in the shop",
    ("on the bench", "locked up"): "locked up",
    ("on the bench", "missed"): "missing",
    ("locked up", "unlocked"): "in the shop",
    ("locked up", "to bench"): "on the bench",
    ("locked up", "missed"): "missing",
    ("out for work", "came back"): "in the shop",
    ("out for work", "missed"): "missing",
    ("with the carrier", "to buyer"): "with the buyer",
    ("with the carrier", "to owner"): "back with the owner",
    ("with the carrier", "came back"): "in the shop",
    ("with the carrier", "missed"): "missing",
    ("with the buyer", "came back"): "in the shop",
    ("back with the owner", "received"): "in the shop",
    ("missing", "found"): "in the shop",
}

EVENTS: tuple[str, ...] = tuple(dict.fromkeys(event for _, event in TRANSITIONS))
STATES: tuple[str, ...] = tuple(
    dict.fromkeys(state for (before, _), after in TRANSITIONS.items() for state in (before, after))
)

HAND_OVERS = frozenset({"received", "sent out", "came back", "to carrier", "to buyer", "to owner"})
"""Events in which the instrument leaves one person's hands for another's: both are named."""


def check_event(event: str, *, giver: str, receiver: str, where: str = "") -> None:
    """Refuse an unknown event, and a hand-over that does not name both hands.

    Raises
    ------
    InputError
        The event is unknown, or giver or receiver is blank in a hand-over.
    """
    if event not in EVENTS:
        raise InputError(
            "no such custody event", where=where, received=event, remedy=nearest(event, EVENTS)
        )
    if event in HAND_OVERS and not (giver.strip() and receiver.strip()):
        blank = "receiver" if giver.strip() else "giver"
        raise InputError(
            f'a hand-over ("{event}") does not name the {blank}',
            where=where,
            remedy=f"Give the {blank} by role, such as a consignor or examiner A.",
        )


def next_state(state: str, event: str, *, where: str = "") -> str:
    """The state after *event*.

    Raises
    ------
    ConflictError
        The event cannot follow the state; the message lists those that can.
    """
    after = TRANSITIONS.get((state, event))
    if after is None:
        raise ConflictError(
            f'custody cannot pass by "{event}" while the instrument is {state}',
            where=where,
            received=event,
            remedy="Possible now: " + ", ".join(possible_events(state)) + ".",
        )
    return after


def possible_events(state: str) -> tuple[str, ...]:
    """List the events that can follow *state*."""
    return tuple(event for before, event in TRANSITIONS if before == state)


def diagram() -> str:
    """Draw the table as a Mermaid state diagram."""
    names = {state: state.replace(" ", "_") for state in STATES}
    lines = ["stateDiagram-v2"]
    lines += [f"    {names[state]} : {state}" for state in STATES]
    lines.append(f"    [*] --> {names[NOT_RECEIVED]}")
    lines += [
        f"    {names[before]} --> {names[after]} : {event}"
        for (before, event), after in TRANSITIONS.items()
    ]
    return "\n".join(lines) + "\n"
