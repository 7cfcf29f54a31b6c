"""The bodies of form 1 that today's kinds replaced, as they were; they do not change any more."""

from __future__ import annotations

from typing import Annotated

import msgspec

from heelstamp.catalogue.bodies.base import FileDigest, Id, NotNegative, Stage, Text


class _Record(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, kw_only=True
):
    pass


class Measurement1(_Record, frozen=True):
    """A measured value whose quantity says in words where and how it was read."""

    id: Id
    quantity: Text
    part: Text
    value: float
    unit: str
    stage: Stage
    uncertainty: NotNegative = 0.0
    temperature: float | None = None
    frames: list[Id] = []
    note: str = ""


class Treatment1(_Record, frozen=True):
    """An act, or a time under the lamp; how far a rod was turned stands in the amount."""

    id: Id
    act: Text
    part: Text
    reason: Text
    reversible: bool
    material: str = ""
    amount: str = ""
    minutes: NotNegative = 0.0
    before: list[Id] = []
    after: list[Id] = []
    note: str = ""


class Recording1(_Record, frozen=True):
    """A recording whose words say of what it is."""

    id: Id
    file: FileDigest
    name: Text
    media_type: Annotated[str, msgspec.Meta(pattern=r"^audio/[a-z0-9.+-]+$")]
    what: Text
    part: Text | None = None
    stage: Stage = "found"
    note: str = ""


class Decision1(_Record, frozen=True):
    """A decision, with whatever had no kind of its own."""

    id: Id
    about: Text
    decided: Text
    reason: Text


RECORDS: dict[str, type[_Record]] = {
    "measurement": Measurement1,
    "treatment": Treatment1,
    "recording": Recording1,
    "decision": Decision1,
}
KINDS_1 = (
    "instrument",
    "observation",
    "measurement",
    "treatment",
    "photograph",
    "recording",
    "consent",
    "custody",
    "contents",
    "statement",
    "decision",
    "screw",
    "correction",
)
"""All kinds of form 1; those without a record here are read by today's, which hold more."""
