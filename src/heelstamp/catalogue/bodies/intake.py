"""Object entry: the instrument, whose hands it passes through, what may be done, what came with it.

Transfer of custody is E10 of the CIDOC Conceptual Reference Model.
"""

from __future__ import annotations

from typing import Annotated

import msgspec

from heelstamp.catalogue.bodies.base import EntryBody, Id, NotNegative, Text
from heelstamp.catalogue.bodies.observation import Link
from heelstamp.catalogue.conversion import join_place
from heelstamp.catalogue.custody import check_event
from heelstamp.errors import InputError


class Instrument(EntryBody, frozen=True):
    """The instrument as it is presented: what it claims to be, and which chronology is asked."""

    kind: Text
    maker: Text
    model: Text
    chronology: Text
    claimed: str | None = None
    tag: Annotated[str, msgspec.Meta(pattern=r"^([A-Za-z0-9][A-Za-z0-9_.-]{0,39})?$")] = ""


class Consent(EntryBody, frozen=True):
    """The owner's word on one act: granted or refused, by whom, on what condition."""

    id: Id
    act: Text
    granted: bool
    by: Text
    condition: str = ""
    note: str = ""


class Custody(EntryBody, frozen=True):
    """One change of hands or place; ``weight_g`` when the instrument was weighed."""

    id: Id
    event: Text
    giver: str = ""
    receiver: str = ""
    place: str = ""
    weight_g: Annotated[float, msgspec.Meta(gt=0.0, le=50_000.0)] | None = None
    weight_uncertainty_g: NotNegative | None = None
    note: str = ""


class Contents(EntryBody, frozen=True):
    """A thing found in the case, and what ties it to the instrument."""

    id: Id
    item: Text
    link: Link
    frames: list[Id] = msgspec.field(default_factory=list)
    note: str = ""


class Statement(EntryBody, frozen=True):
    """What someone says of the instrument, by role, never by name."""

    id: Id
    role: Text
    about: Text
    text: Text
    signed: bool


def check_instrument(body: Instrument, where: str) -> None:
    """Refuse a tag that reads like a file's name."""
    if body.tag.lower().endswith((".toml", ".json", ".jsonl")):
        raise InputError(
            "a tag that reads like a file's name",
            where=join_place(where, "field tag"),
            received=body.tag,
            remedy="Give another tag, as H-0001.",
        )


def check_custody(body: Custody, where: str) -> None:
    """Refuse an unknown event, a hand-over without both hands, an uncertainty without a weight."""
    check_event(
        body.event, giver=body.giver, receiver=body.receiver, where=join_place(where, "field event")
    )
    if body.weight_uncertainty_g is not None and body.weight_g is None:
        raise InputError(
            "an uncertainty without a weight",
            where=join_place(where, "field weight_uncertainty_g"),
            received=body.weight_uncertainty_g,
            remedy="Give weight_g too.",
        )
