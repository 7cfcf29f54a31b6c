"""The kinds of entry of a dossier's journal, and how the body of any is read.

Each kind is one frozen record (`heelstamp.catalogue.bodies`); unknown fields are refused. Ids are
unique within a dossier (`heelstamp.catalogue.folding` sees to that). The words follow the CIDOC
Conceptual Reference Model where it has them: Attribute Assignment (observation), Measurement
(E16), Modification (E11, treatment), Transfer of Custody (E10). Times are ISO 8601; file digests
are SHA-256 in lower-case hexadecimal.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import msgspec

from heelstamp.catalogue.bodies.appraisal import (
    CaseIncluded,
    ChangedParts,
    Colour,
    Grade,
    MaterialAnswer,
    MaterialsLooked,
    NearNumber,
    Price,
    TermsAgreed,
    TitleNote,
    TitleSearch,
)
from heelstamp.catalogue.bodies.base import EntryBody, Id, Stage, Text, parse_time
from heelstamp.catalogue.bodies.condition import (
    Condition,
    DifferenceLook,
    FaceLooked,
    check_condition,
)
from heelstamp.catalogue.bodies.counter import (
    Enquiry,
    Packing,
    TaxScheme,
    TransitLog,
    check_enquiry,
    check_packing,
    check_tax,
)
from heelstamp.catalogue.bodies.intake import (
    Consent,
    Contents,
    Custody,
    Instrument,
    Statement,
    check_custody,
    check_instrument,
)
from heelstamp.catalogue.bodies.measurement import Measurement, check_measurement
from heelstamp.catalogue.bodies.media import (
    Light,
    Photograph,
    PictureBox,
    PictureScale,
    Recording,
    check_box,
    check_photograph,
    check_recording,
    check_scale,
)
from heelstamp.catalogue.bodies.observation import Observation, check_observation
from heelstamp.catalogue.bodies.report import (
    Decision,
    Issue,
    LaterKnown,
    Question,
    ReturnVerdict,
    Unconverted,
    WordingChoice,
    check_issue,
    check_later_known,
)
from heelstamp.catalogue.bodies.sale import (
    Agreement,
    OwnerOf,
    SaleStep,
    check_agreement,
    check_owner,
    check_sale,
)
from heelstamp.catalogue.bodies.uv_lamp import PairMarks, RegionBorder, RegionVerdict, check_border
from heelstamp.catalogue.bodies.work import (
    Exposure,
    Screw,
    StringSet,
    Treatment,
    WorkPlan,
    check_exposure,
    check_treatment,
)
from heelstamp.catalogue.clock import Clock
from heelstamp.catalogue.conversion import convert, join_place, nearest
from heelstamp.errors import InputError

__all__ = [
    "INSTRUMENT_ID",
    "KINDS",
    "Body",
    "Correction",
    "Light",
    "Said",
    "Stage",
    "body_data",
    "body_id",
    "kind_of",
    "parse_body",
    "parse_time",
    "references",
]

INSTRUMENT_ID = "instrument"
"""Id by which a correction names the instrument entry, which carries none of its own."""

LONG_TEXTS = frozenset(
    {
        "note",
        "reason",
        "text",
        "condition",
        "decided",
        "answer",
        "asked",
        "found",
        "result",
        "settled",
    }
)
"""Fields of bodies that may be written on several lines: sentences, and marks as stamped."""


class Correction(EntryBody, frozen=True):
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
    | Exposure
    | Photograph
    | PictureBox
    | PictureScale
    | Recording
    | Consent
    | Custody
    | Contents
    | Statement
    | Decision
    | Screw
    | StringSet
    | PairMarks
    | RegionVerdict
    | RegionBorder
    | Condition
    | FaceLooked
    | DifferenceLook
    | WorkPlan
    | Grade
    | Colour
    | CaseIncluded
    | ChangedParts
    | Price
    | TermsAgreed
    | TitleSearch
    | TitleNote
    | NearNumber
    | MaterialAnswer
    | MaterialsLooked
    | OwnerOf
    | Agreement
    | SaleStep
    | TaxScheme
    | Enquiry
    | Packing
    | TransitLog
    | WordingChoice
    | Question
    | ReturnVerdict
    | LaterKnown
    | Issue
    | Clock
    | Correction
)

Said = Body | Unconverted
"""What an entry says: a body of today, or one of form 1 that could not be converted."""

KINDS: dict[str, type[Body]] = {
    "instrument": Instrument,
    "observation": Observation,
    "measurement": Measurement,
    "treatment": Treatment,
    "exposure": Exposure,
    "photograph": Photograph,
    "picture_box": PictureBox,
    "picture_scale": PictureScale,
    "recording": Recording,
    "consent": Consent,
    "custody": Custody,
    "contents": Contents,
    "statement": Statement,
    "decision": Decision,
    "screw": Screw,
    "string_set": StringSet,
    "pair_marks": PairMarks,
    "region": RegionVerdict,
    "border": RegionBorder,
    "condition": Condition,
    "face_looked": FaceLooked,
    "difference_look": DifferenceLook,
    "work_plan": WorkPlan,
    "grade": Grade,
    "colour": Colour,
    "case_included": CaseIncluded,
    "changed_parts": ChangedParts,
    "price": Price,
    "terms": TermsAgreed,
    "title_search": TitleSearch,
    "title_note": TitleNote,
    "near_number": NearNumber,
    "material": MaterialAnswer,
    "materials_looked": MaterialsLooked,
    "owner": OwnerOf,
    "agreement": Agreement,
    "sale": SaleStep,
    "tax": TaxScheme,
    "enquiry": Enquiry,
    "packing": Packing,
    "transit_log": TransitLog,
    "wording": WordingChoice,
    "paper": Issue,  # the older name
    "question": Question,
    "return_verdict": ReturnVerdict,
    "later_known": LaterKnown,
    "issue": Issue,
    "clock": Clock,
    "correction": Correction,
}
_NAMES: dict[type, str] = {record: kind for kind, record in KINDS.items()}


def kind_of(body: Body) -> str:
    """Name the kind of *body*, one of `KINDS`."""
    return _NAMES[type(body)]


def body_id(body: Said) -> str:
    """Id by which other entries name *body*."""
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
    if body.made is not None:
        parse_time(body.made, where=join_place(where, "field made"))
    check = _CHECKS.get(record)
    if check is not None:
        check(body, where)
    return body


def body_data(body: Body) -> dict[str, object]:
    """Write *body* as plain values, without fields that hold their default."""
    plain: dict[str, object] = msgspec.to_builtins(body)
    return plain


def _check_correction(body: Correction, where: str) -> None:
    if body.corrects == body.id:
        raise InputError(
            "a correction cannot correct itself",
            where=join_place(where, "field corrects"),
            received=body.corrects,
            remedy="Name the entry it corrects.",
        )


_CHECKS: dict[type, Callable[..., None]] = {
    Instrument: check_instrument,
    Observation: check_observation,
    Measurement: check_measurement,
    Treatment: check_treatment,
    Condition: check_condition,
    Exposure: check_exposure,
    Photograph: check_photograph,
    PictureBox: check_box,
    PictureScale: check_scale,
    Recording: check_recording,
    Custody: check_custody,
    RegionBorder: check_border,
    Issue: check_issue,
    LaterKnown: check_later_known,
    OwnerOf: check_owner,
    Agreement: check_agreement,
    SaleStep: check_sale,
    TaxScheme: check_tax,
    Enquiry: check_enquiry,
    Packing: check_packing,
    Correction: _check_correction,
}


_NAMING: dict[type, tuple[str, ...]] = {
    Measurement: ("frames",),
    Observation: ("frames",),
    Contents: ("frames",),
    Treatment: ("before", "after"),
    PictureBox: ("frame",),
    PictureScale: ("frame",),
    Condition: ("frame", "same_as"),
    DifferenceLook: ("before", "after"),
    Screw: ("frame",),
    PairMarks: ("visible", "uv"),
    RegionVerdict: ("look",),
    RegionBorder: ("look",),
    ReturnVerdict: ("left", "returned"),
    Enquiry: ("before", "after", "question"),
    Packing: ("frames",),
}
"""Fields of a body that name other entries: one id, several, or none."""


def references(body: Body) -> Mapping[str, tuple[str, ...]]:
    """Name the entries that *body* names, by field."""
    found: dict[str, tuple[str, ...]] = {}
    for field in _NAMING.get(type(body), ()):
        named = getattr(body, field)
        found[field] = (named,) if isinstance(named, str) else tuple(named or ())
    if isinstance(body, Measurement) and body.heard:
        found["heard.recordings"] = tuple(body.heard.recordings)
    return {field: names for field, names in found.items() if any(names)}
