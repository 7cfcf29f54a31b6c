"""What was done to the instrument: acts, time under the lamp, screws out and back, sets of strings.

An act is a Modification, E11 of the CIDOC Conceptual Reference Model.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.base import (
    Day,
    EntryBody,
    Id,
    Instant,
    NotNegative,
    Reasoned,
    Share,
    Text,
    parse_time,
)
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError

TreatmentKind = Literal["open", "close", "clean", "adjust", "fit", "mend"]
ACTS: dict[str, TreatmentKind] = {
    "take strings off": "open",
    "lift guard": "open",
    "lift bridge": "open",
    "take neck off": "open",
    "refit guard": "close",
    "refit bridge": "close",
    "refit neck": "close",
    "clean control": "clean",
    "clean finish": "clean",
    "clean board": "clean",
    "clean hardware": "clean",
    "turn rod": "adjust",
    "set saddles": "adjust",
    "set pickup height": "adjust",
    "fit strings": "fit",
    "fit part": "fit",
    "fit a nut": "fit",
    "open a solder joint": "mend",
    "dress frets": "mend",
    "replace frets": "mend",
    "remove overspray": "mend",
    "glue": "mend",
}
"""Usual acts, as consents name them, and what sort each is; any other act says it itself."""

Turns = Annotated[float, msgspec.Meta(ge=-20.0, le=20.0)]


class Treatment(EntryBody, frozen=True):
    """What was done to a part, with what, why, and the evidence before and after it.

    Attributes
    ----------
    act
        As the owner's consent names it.
    kind
        What sort of act it is; None where nobody said and `ACTS` tells.
    turns
        Of the rod: how far, positive tighter; ``amount`` then stays empty.
    felt
        What the hand felt while turning.
    """

    id: Id
    act: Text
    part: Text
    reason: Text
    reversible: bool
    kind: TreatmentKind | None = None
    material: str = ""
    amount: str = ""
    turns: Turns | None = None
    felt: str = ""
    minutes: NotNegative = 0.0
    before: list[Id] = msgspec.field(default_factory=list)
    after: list[Id] = msgspec.field(default_factory=list)
    note: str = ""

    @property
    def sort(self) -> TreatmentKind | None:
        """What sort of act it is: as told, else that of a usual act."""
        return self.kind if self.kind is not None else ACTS.get(self.act)


class PlannedAct(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An act that the owner agreed to, and the part it is done to."""

    act: Text
    part: Text


class WorkPlan(EntryBody, frozen=True):
    """What the owner signed: these acts and no other; none at all where nothing is to be done.

    Attributes
    ----------
    acts
        As consents name them.
    signed
        The day of the signature.
    by
        Who signed, by role, never by name.
    """

    id: Id
    acts: list[PlannedAct]
    signed: Day
    by: Text
    note: str = ""


class Exposure(EntryBody, frozen=True):
    """A time under the UV-A lamp: since when, until when, or minutes alone.

    Attributes
    ----------
    minutes
        Counted; None while the lamp is on.
    reason
        What for; empty to see the glow of the coat.
    """

    id: Id
    part: Text
    since: Instant | None = None
    until: Instant | None = None
    minutes: NotNegative | None = None
    reason: str = ""
    note: str = ""


class Screw(EntryBody, frozen=True):
    """A screw taken out: number and place in a picture, what it is like, whether it is back.

    ``opening`` is the step of access that it closes; ``x`` and ``y`` are shares of the width and
    height of ``frame``, or of the drawing of the part without one. ``typed`` is the length as it
    was typed where that was in inches.
    """

    id: Id
    part: Text
    opening: Text
    number: Annotated[int, msgspec.Meta(ge=1, le=200)]
    x: Share
    y: Share
    frame: Id | None = None
    head: str = ""
    drive: str = ""
    thread: str = ""
    metal: str = ""
    length_mm: Annotated[float, msgspec.Meta(gt=0.0, le=300.0)] | None = None
    typed: str = ""
    start: Literal["not tried", "free", "stiff", "does not start"] = "not tried"
    odd: bool = False
    back: bool = False
    note: str = ""


class StringSet(Reasoned, frozen=True):
    """A set of strings as it is known before an act names it: as found, or the new one.

    Attributes
    ----------
    strings
        The set as a person writes it, as ``.009 .011 .016 plain, .024 .032 .042 wound``.
    """

    which: Literal["found", "new"]
    strings: Text


def check_exposure(body: Exposure, where: str) -> None:
    """Refuse a time that ends without having begun, or before it began, or says nothing."""
    if body.since is None and (body.minutes is None or body.until is not None):
        raise InputError(
            "a time under the lamp that does not say how long",
            where=join_place(where, "field minutes"),
            remedy="Give minutes, or since and until.",
        )
    if (body.until is None) != (body.minutes is None) and body.since is not None:
        raise InputError(
            "a time under the lamp has an end and minutes, or neither",
            where=join_place(where, "field until"),
            remedy="Give until with its minutes, or leave both out while the lamp is on.",
        )
    since = parse_time(body.since, where=join_place(where, "field since")) if body.since else None
    until = parse_time(body.until, where=join_place(where, "field until")) if body.until else None
    if since is not None and until is not None and until < since:
        raise InputError(
            "a time under the lamp that ends before it began",
            where=join_place(where, "field until"),
            received=f"{body.since} to {body.until}",
            remedy="Set the device's clock, and give both times again.",
        )


def check_treatment(body: Treatment, where: str) -> None:
    """Refuse an amount said twice."""
    if body.turns is not None and body.amount:
        raise InputError(
            "an amount said twice",
            where=join_place(where, "field amount"),
            received=body.amount,
            remedy="Give turns alone.",
        )
