"""What programs send and get, as types that the description is made of."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import Path, UploadFile
from pydantic import BaseModel, ConfigDict, Field

from heelstamp.web.problems import Problem

Tag = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$", max_length=40)]
Frame = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.:-]{0,63}$", max_length=64)]
Digest = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
By = Annotated[str, Field(min_length=1, max_length=60)]
Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.:-]{0,63}$")]
Text = Annotated[str, Field(min_length=1, max_length=200)]
Kind = Literal[
    "observation",
    "measurement",
    "treatment",
    "exposure",
    "consent",
    "custody",
    "contents",
    "statement",
    "string_set",
    "grade",
    "colour",
    "case_included",
    "changed_parts",
    "price",
    "title_search",
    "title_note",
    "near_number",
    "material",
    "materials_looked",
    "wording",
    "question",
    "return_verdict",
    "decision",
    "correction",
    "screw",
    "clock",
    "picture_box",
    "picture_scale",
    "condition",
    "face_looked",
    "difference_look",
    "sale",
    "packing",
    "transit_log",
]
"""Kinds that say all there is in their body; photographs, dossiers and papers have addresses."""
PaperKind = Literal[
    "report", "receipt", "permission", "agreement", "insurance", "work", "screws", "labels"
]
ReaderOf = Literal["consignor", "buyer", "insurer", "shop"]


class _Sent(BaseModel):
    model_config = ConfigDict(extra="forbid")


class EntryIn(_Sent):
    """One entry to make; its body is that of the journal's schema, with an id of its own."""

    kind: Kind
    body: dict[str, Any]


class NewEntries(_Sent):
    """Entries made together: all of them or none."""

    by: By
    entries: Annotated[list[EntryIn], Field(min_length=1, max_length=200)]


class NewDossier(_Sent):
    """An instrument that comes in."""

    by: By
    tag: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$")]
    kind: Text
    maker: Text
    model: Text
    chronology: Text
    claimed: Text | None = None


class NewPhotograph(_Sent):
    """A photograph, and what it shows; sent as the parts of a form."""

    photo: UploadFile
    by: By
    id: Id
    slot: Annotated[str, Field(max_length=60)] = ""
    part: Annotated[str, Field(max_length=60)] = ""
    light: Annotated[str, Field(max_length=20)] = ""
    private: bool = False
    note: Annotated[str, Field(max_length=2000)] = ""


class NewPaper(_Sent):
    """A paper to be issued; the same id issues it once.

    Attributes
    ----------
    reader
        Of a report; the other papers have theirs.
    """

    by: By
    id: Id
    paper: PaperKind
    reader: ReaderOf | None = None
    lengths: Literal["mm", "in"] = "mm"
    prices: Annotated[list[Annotated[str, Field(max_length=40)]], Field(max_length=5)] = []


class Known(_Sent):
    """How far a program knows each dossier: the digest of the last entry it has."""

    known: dict[str, Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]] = {}
    count: Annotated[int, Field(ge=1, le=1000)] = 200


class Row(BaseModel):
    """One instrument on the rack."""

    tag: str
    maker: str
    model: str
    kind: str
    picture: str
    custody: str
    place: str
    opened: str
    sum: str
    entries: int
    photographs: int
    looked: int
    parts: int
    due: list[str]


class Rows(BaseModel):
    """Some of the rack, the newest first; *unread* dossiers could not be read and are left out."""

    found: int
    unread: int
    dossiers: list[Row]


class Made(BaseModel):
    """An entry as it was made."""

    seq: int
    kind: str
    digest: str


class EntryOut(BaseModel):
    """An entry as it is kept; what may not be known is left out, see *withheld* in a body.

    Attributes
    ----------
    form, seed, previous, digest
        See the journal's schema; missing where they would tell what is withheld.
    """

    model_config = ConfigDict(extra="allow")
    seq: int
    kind: str
    at: str
    by: str
    body: dict[str, Any]
    previous: str | None = None
    digest: str | None = None


class Change(BaseModel):
    """What was entered in one dossier; *head* is the digest to send the next time."""

    tag: str
    head: str | None
    entries: list[EntryOut]


class Changes(BaseModel):
    """What was entered since; *more* tells that there is more to ask for."""

    changes: list[Change]
    more: bool


class Act(BaseModel):
    """What came of an act: the entries it made, and the key of the work that it began."""

    entries: list[Made]
    work: str | None = None


class WorkOut(BaseModel):
    """How far work is.

    Attributes
    ----------
    share
        How much is done, 0 to 1; 0 where that cannot be told.
    edition
        Of the chronology that was learned, where that is what came of it.
    problem
        Why nothing came of it.
    """

    key: str
    what: str
    about: str
    standing: Literal["waiting", "working", "done", "failed"]
    share: float
    stage: str
    edition: str | None = None
    problem: Problem | None = None


class DossierOut(BaseModel):
    """What stands in a dossier, in the form of an examination file (docs/schema)."""

    model_config = ConfigDict(extra="allow")
    custody_state: str
    head: str | None


class PhotographMade(BaseModel):
    """A photograph as it was kept, and what to take again of it."""

    id: str
    file: str
    again: list[str]


class PaperOut(BaseModel):
    """A paper that was issued."""

    paper: str
    reader: str
    version: int
    digest: str
    at: str
    by: str
    standing: str


class PaperMade(BaseModel):
    """A paper as it was issued; *digest* is the SHA-256 of its file."""

    digest: str
    address: str
