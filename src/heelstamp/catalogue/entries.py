"""The bodies of all entries of a dossier's journal but observations, and how any body is read.

Each kind of entry is one frozen record; unknown fields are refused. Ids are unique within a
dossier (`heelstamp.catalogue.state` sees to that). The words follow the CIDOC Conceptual
Reference Model where it has them: Attribute Assignment (observation), Measurement (E16),
Modification (E11, treatment), Transfer of Custody (E10). Times are ISO 8601; file digests are
SHA-256 in lower-case hexadecimal.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Annotated, Any, Literal

import msgspec

from heelstamp.catalogue.clock import Clock
from heelstamp.catalogue.conversion import convert, join_place, nearest
from heelstamp.catalogue.custody import check_event
from heelstamp.catalogue.observations import (
    FileDigest,
    Id,
    Link,
    Observation,
    Share,
    Text,
    check_observation,
)
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import Quantity

INSTRUMENT_ID = "instrument"
"""Id by which a correction names the instrument entry, which carries none of its own."""

LONG_TEXTS = frozenset({"note", "reason", "text", "condition", "decided"})
"""Fields of bodies that may be written on several lines: sentences, and marks as stamped."""

Pixels = Annotated[int, msgspec.Meta(gt=0, le=1_000_000)]
NotNegative = Annotated[float, msgspec.Meta(ge=0.0)]
Stage = Literal["found", "plan", "final"]
Light = Literal["visible", "raking", "UV-A", "infrared", "transmitted"]

_NEVER_NEGATIVE = frozenset({"mass", "resistance", "capacitance", "inductance", "irradiance"})
_ABSOLUTE_ZERO_C = -273.15  # SI Brochure, 9th ed., 2.3.1: 0 K


class _Body(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, kw_only=True
):
    """What every body shares: nothing unknown, nothing changed afterwards."""


class Instrument(_Body, frozen=True):
    """The instrument as it is presented: what it claims to be, and which chronology is asked."""

    kind: Text
    maker: Text
    model: Text
    chronology: Text
    claimed: str | None = None
    tag: Annotated[str, msgspec.Meta(pattern=r"^([A-Za-z0-9][A-Za-z0-9_.-]{0,39})?$")] = ""


class Measurement(_Body, frozen=True):
    """A value with unit and standard uncertainty (0: not known), as found, planned or final."""

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

    @property
    def measured(self) -> Quantity:
        """The value as a quantity."""
        return Quantity(self.value, self.unit, self.uncertainty)


class Treatment(_Body, frozen=True):
    """What was done to a part, with what, why, and the evidence before and after it."""

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


class Photograph(_Body, frozen=True):
    """A frame: its file, size in pixels as displayed, subject, light, and who may see it."""

    id: Id
    file: FileDigest
    name: Text
    media_type: Annotated[str, msgspec.Meta(pattern=r"^image/[a-z0-9.+-]+$")]
    width: Pixels
    height: Pixels
    part: Text | None = None
    slot: str = ""
    light: Light = "visible"
    private: bool = False
    taken: str | None = None
    simulated: bool = False
    note: str = ""


class Recording(_Body, frozen=True):
    """A sound recording, of a note or of a control being turned."""

    id: Id
    file: FileDigest
    name: Text
    media_type: Annotated[str, msgspec.Meta(pattern=r"^audio/[a-z0-9.+-]+$")]
    what: Text
    part: Text | None = None
    stage: Stage = "found"
    note: str = ""


class Consent(_Body, frozen=True):
    """The owner's word on one act: granted or refused, by whom, on what condition."""

    id: Id
    act: Text
    granted: bool
    by: Text
    condition: str = ""
    note: str = ""


class Custody(_Body, frozen=True):
    """One change of hands or place; ``weight_g`` when the instrument was weighed."""

    id: Id
    event: Text
    giver: str = ""
    receiver: str = ""
    place: str = ""
    weight_g: Annotated[float, msgspec.Meta(gt=0.0, le=50_000.0)] | None = None
    weight_uncertainty_g: NotNegative | None = None
    note: str = ""


class Contents(_Body, frozen=True):
    """A thing found in the case, and what ties it to the instrument."""

    id: Id
    item: Text
    link: Link
    frames: list[Id] = []
    note: str = ""


class Statement(_Body, frozen=True):
    """What someone says of the instrument, by role, never by name."""

    id: Id
    role: Text
    about: Text
    text: Text
    signed: bool


class Decision(_Body, frozen=True):
    """What was decided, and why."""

    id: Id
    about: Text
    decided: Text
    reason: Text


class Screw(_Body, frozen=True):
    """A screw taken out: number and place in a picture, what it is like, whether it is back.

    ``opening`` is the step of access that it closes; ``x`` and ``y`` are shares of the width and
    height of ``frame``, or of the drawing of the part without one.
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
    length_mm: Annotated[float, msgspec.Meta(gt=0.0, le=300.0)] | None = None
    start: Literal["not tried", "free", "stiff", "does not start"] = "not tried"
    odd: bool = False
    back: bool = False
    note: str = ""


class Issue(_Body, frozen=True):
    """One paper as it went to one reader; its entry's digest is printed on it.

    Attributes
    ----------
    reader
        For whom, as ``buyer``.
    day
        Date of the paper, ISO 8601.
    files
        SHA-256 of each file attached, by its name there.
    ledger
        Digest of the last line of the shop's ledger; None while the shop keeps none.
    source
        Id of the entry shown, by the name it has in the copy.
    """

    id: Id
    reader: Text
    day: Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d\d-\d\d$")]
    files: dict[Text, FileDigest]
    ledger: FileDigest | None = None
    source: dict[Text, Id] = {}


class Correction(_Body, frozen=True):
    """Replaces what an earlier entry says, or withdraws it when ``replacement`` is null."""

    id: Id
    corrects: Id
    reason: Text
    replacement: dict[str, Any] | None


Body = (
    Instrument
    | Observation
    | Measurement
    | Treatment
    | Photograph
    | Recording
    | Consent
    | Custody
    | Contents
    | Statement
    | Decision
    | Screw
    | Issue
    | Clock
    | Correction
)

KINDS: dict[str, type[Body]] = {
    "instrument": Instrument,
    "observation": Observation,
    "measurement": Measurement,
    "treatment": Treatment,
    "photograph": Photograph,
    "recording": Recording,
    "consent": Consent,
    "custody": Custody,
    "contents": Contents,
    "statement": Statement,
    "decision": Decision,
    "screw": Screw,
    "issue": Issue,
    "clock": Clock,
    "correction": Correction,
}


def body_id(body: Body) -> str:
    """Give the id by which other entries name *body*."""
    return INSTRUMENT_ID if isinstance(body, Instrument) else body.id


def parse_body(kind: str, data: object, *, where: str = "", kept: bool = False) -> Body:
    """Read the body of an entry of *kind* and check it as far as one body alone can be checked.

    Parameters
    ----------
    kind
        One of `KINDS`.
    data
        Plain value, as TOML or JSON gives it.
    where
        Place named in errors, such as ``observation 3 (id "o3")``.
    kept
        The entry stands in a journal already: its text is taken as it is.

    Raises
    ------
    InputError
        Unknown kind or field, missing field, a value of another kind or out of range, a character
        that is no text, a month or time that cannot be, a status that contradicts the content.
    """
    record = KINDS.get(kind)
    if record is None:
        raise InputError(
            "no such kind of entry", where=where, received=kind, remedy=nearest(kind, KINDS)
        )
    body: Body = convert(data, record, where=where, lines=LONG_TEXTS, kept=kept)
    check = _CHECKS.get(record)
    if check is not None:
        check(body, where)
    return body


def body_data(body: Body) -> dict[str, object]:
    """Give *body* as plain values, without fields that hold their default."""
    plain: dict[str, object] = msgspec.to_builtins(body)
    return plain


def parse_time(text: str, *, where: str = "") -> datetime:
    """Read an ISO 8601 date and time; without an offset it is a local time of unknown zone.

    Raises
    ------
    InputError
        Another form, or a date that is not in the calendar.
    """
    try:
        return datetime.fromisoformat(text)
    except (ValueError, TypeError):
        raise InputError(
            "not a date and time",
            where=where,
            received=text,
            remedy="Write it as 2026-11-02T09:14:00Z.",
        ) from None


def _check_instrument(body: Instrument, where: str) -> None:
    if body.tag.lower().endswith((".toml", ".json", ".jsonl")):
        raise InputError(
            "a tag that reads like a file's name",
            where=join_place(where, "field tag"),
            received=body.tag,
            remedy="Give another tag, as H-0001.",
        )


def _check_measurement(body: Measurement, where: str) -> None:
    try:
        measured = body.measured
    except HeelstampError as error:
        raise InputError(
            error.what,
            where=join_place(where, "field unit"),
            received=error.received,
            remedy=error.remedy,
        ) from None
    below = measured.kind in _NEVER_NEGATIVE and body.value < 0
    if below or (measured.kind == "temperature" and measured.to("°C").value < _ABSOLUTE_ZERO_C):
        raise InputError(
            f"a {measured.kind} cannot be so low",
            where=join_place(where, "field value"),
            received=f"{body.value:g} {body.unit}",
            remedy="Measure again, or correct the sign or unit.",
        )
    if body.temperature is not None and body.temperature < _ABSOLUTE_ZERO_C:
        raise InputError(
            "colder than absolute zero",
            where=join_place(where, "field temperature"),
            received=body.temperature,
            remedy="Give the room's temperature in °C.",
        )


def _check_photograph(body: Photograph, where: str) -> None:
    if body.taken is not None:
        parse_time(body.taken, where=join_place(where, "field taken"))


def _check_issue(body: Issue, where: str) -> None:
    parse_time(body.day, where=join_place(where, "field day"))


def _check_custody(body: Custody, where: str) -> None:
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


def _check_correction(body: Correction, where: str) -> None:
    if body.corrects == body.id:
        raise InputError(
            "a correction cannot correct itself",
            where=join_place(where, "field corrects"),
            received=body.corrects,
            remedy="Name the entry it corrects.",
        )


_CHECKS: dict[type, Callable[..., None]] = {
    Instrument: _check_instrument,
    Observation: check_observation,
    Measurement: _check_measurement,
    Photograph: _check_photograph,
    Custody: _check_custody,
    Issue: _check_issue,
    Correction: _check_correction,
}


def references(body: Body) -> Mapping[str, tuple[str, ...]]:
    """Give the ids that *body* names, by field."""
    found: dict[str, tuple[str, ...]] = {}
    for field in ("frames", "before", "after"):
        if named := getattr(body, field, ()):
            found[field] = tuple(named)
    if isinstance(body, Screw) and body.frame is not None:
        found["frame"] = (body.frame,)
    return found
