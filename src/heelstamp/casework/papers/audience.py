"""Who may read what: masking, held-back frames, names, and extracts for outsiders.

The consignor and the shop see all. A buyer and an insurer are outsiders: the serial number is
masked (a full one invites cloning), private frames stay with the shop so that a return can be
compared with them, no name of a private person and no place of custody leaves, and of the journal
they get the chain of digests without its bodies, which still fixes every entry. A buyer's report
names no entry and has each figure of probability once, beside its word in the table of parts.
Common practice of the trade, no source. Masking works on text: a number legible in a photograph is
the photographer's to keep out, which is why frames can be marked private.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

from heelstamp.casework.papers.document import OUTSIDERS, PartRow, Reader, ReportDocument
from heelstamp.wording import Statement
from heelstamp.wording.sentences import counted

MASK = "•"
UNREAD = "?"
"""What an examination file writes for a character that cannot be read."""

KEPT_BY_SHOP = "kept by the shop"
_BETWEEN = r"[\s.\-\u00ad\u200b-\u200f\u2060]*"
KEPT_MAX = 3
MASKED_MIN = 3
NAME_WITHHELD = "[name withheld]"

ROLES = frozenset(
    {
        "",
        "the consignor",
        "consignor",
        "a consignor",
        "the shop",
        "shop",
        "the owner",
        "owner",
        "buyer",
        "the buyer",
        "a buyer",
        "carrier",
        "the carrier",
        "insurer",
        "examiner a",
        "examiner b",
        "examiner",
        "workshop",
        "bench",
        "a previous owner",
        "previous owner",
        "second reader",
        "the second reader",
        "reader",
    }
)
"""Words for people that name a role; anything else in a field for a person is taken as a name."""

OUTSIDER_KINDS = (
    "consent",
    "observation",
    "measurement",
    "treatment",
    "exposure",
    "photograph",
    "contents",
)
"""Kinds of entry whose bodies an outsider's extract may hold."""
_FRAME_FIELDS = ("frames", "before", "after")
_NEVER = frozenset({"heard"})
"""Fields that name recordings, which no outsider's extract holds."""
_VERBATIM = frozenset(
    {"id", "key", "kind", "verdict", "status", "layer", "template", "reader", "frame", "file"}
)
"""Fields of a document that hold names of the program, never words of a person."""

T = TypeVar("T")


def mask_serial(serial: str) -> str:
    """Mask a serial number: at most three characters stay, at least three are hidden.

    Examples
    --------
    >>> mask_serial("S10350"), mask_serial("0501"), mask_serial("12")
    ('S10•••', '0•••', '••')
    """
    kept = min(KEPT_MAX, max(0, len(serial) - MASKED_MIN))
    return serial[:kept] + MASK * (len(serial) - kept)


def digits_of(serial: str) -> str:
    """The digits of a number, which alone identify it too; the number itself when few."""
    digits = "".join(char for char in serial if char.isdigit() or char == UNREAD)
    return digits if len(digits) > MASKED_MIN else serial


def is_name(text: str) -> bool:
    """Tell whether a field for a person holds a name and not a role."""
    return text.strip().casefold() not in ROLES


def looks_like_name(text: str) -> bool:
    """Tell whether a field for a role or a place holds a proper name all the same.

    Examples
    --------
    >>> [looks_like_name(one) for one in ("Invented Person", "second reader", "safe 2")]
    [True, False, False]
    """
    capitals = [word for word in text.split() if len(word) > 1 and word[0].isupper()]
    return len(capitals) > 1 and is_name(text)


@dataclass(frozen=True, slots=True)
class Audience:
    """What one reader gets.

    Attributes
    ----------
    reader
        Who reads.
    serials
        Serial numbers as they stand on the instrument, all readings included.
    names
        Names of private persons.
    private_frames
        Ids of photographs that stay with the shop.
    """

    reader: Reader
    serials: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    private_frames: frozenset[str] = frozenset()

    @property
    def outsider(self) -> bool:
        """Whether anything must be left out."""
        return self.reader in OUTSIDERS

    @property
    def plain(self) -> bool:
        """Whether ids of entries go, and figures of probability stand in the table of parts."""
        return self.reader == "buyer"

    def text(self, text: str) -> str:
        """*text* as this reader may see it."""
        if not self.outsider:
            return text
        for serial in sorted(self.serials, key=len, reverse=True):
            text = _replace(text, serial, mask_serial(serial), spaced=True)
        for name in sorted(self.names, key=len, reverse=True):
            text = _replace(text, name, NAME_WITHHELD)
        return text

    def frames(self, frames: Iterable[str]) -> tuple[str, ...]:
        """The frames that this reader may see, each once, in order."""
        kept = dict.fromkeys(frames)
        if self.outsider:
            return tuple(frame for frame in kept if frame not in self.private_frames)
        return tuple(kept)

    def shown_frames(self, frames: Iterable[str]) -> tuple[str, ...]:
        """The frames as a paper lists them: a private one exists and stays with the shop."""
        all_of_them = tuple(dict.fromkeys(frames))
        kept = self.frames(all_of_them)
        return kept if len(kept) == len(all_of_them) else (*kept, KEPT_BY_SHOP)

    def value(self, value: object) -> object:
        """A plain value with every text in it as this reader may see it."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, Mapping):
            return {self.text(str(key)): self.value(one) for key, one in value.items()}
        if isinstance(value, Sequence):
            return [self.value(one) for one in value]
        return value


def cut(document: ReportDocument, audience: Audience) -> ReportDocument:
    """Cut a full report to its reader: texts masked, private frames gone and counted."""
    kept = tuple(
        picture for picture in document.pictures if not (audience.outsider and picture.private)
    )
    held_back = len(document.pictures) - len(kept)
    faces = tuple(
        replace(face, plates=()) if audience.outsider and face.private else face
        for face in document.finish
    )
    mine = replace(
        document, reader=audience.reader, pictures=kept, held_back=held_back, finish=faces
    )
    return _cut(mine, audience) if audience.outsider else mine


def _cut(value: T, audience: Audience) -> T:
    """Apply masking and the holding back of frames to a record and all records in it."""
    changed: dict[str, object] = {}
    if audience.plain and isinstance(value, Statement):
        value = _plainly(value)  # type: ignore[assignment]
    elif audience.plain and isinstance(value, PartRow):
        value = replace(value, evidence=())
    for field in fields(value):  # type: ignore[arg-type]
        old = getattr(value, field.name)
        if field.name == "frames":
            changed[field.name] = audience.shown_frames(old)
        elif field.name not in _VERBATIM:
            changed[field.name] = _cut_any(old, audience)
    return replace(value, **changed)  # type: ignore[type-var]


def _plainly(said: Statement) -> Statement:
    """Return a statement without figures of probability and ids of entries, which are counted."""
    count = len(said.rests_on)
    rests = (f"{counted(count, 'entry', 'entries')} of the shop's record",) if count else ()
    return replace(said, text=said.plain or said.text, plain="", rests_on=rests)


def _cut_any(value: object, audience: Audience) -> object:
    if isinstance(value, str):
        return audience.text(value)
    if isinstance(value, tuple):
        return tuple(_cut_any(one, audience) for one in value)
    return _cut(value, audience) if is_dataclass(value) else value


def _replace(text: str, old: str, new: str, *, spaced: bool = False) -> str:
    """Replace whole words *old* in any case, for a number also with spaces or dots between.

    A character of a number that could not be read stands for any: the whole number may be written
    elsewhere, on a receipt in the case.
    """
    if len(old) < 2:  # one character names nobody
        return text
    marks = (r"[^\W_]|\?" if char == UNREAD else re.escape(char) for char in old)
    pattern = _BETWEEN.join(f"(?:{one})" for one in marks) if spaced else re.escape(old)
    # a number may stand against a letter or two; within a long run it is part of a digest
    beside = r"([^\W\d]{0,2})" if spaced else "()"
    found = rf"(?<!\w){beside}{pattern}{beside}(?!\w)"
    return re.sub(found, lambda hit: f"{hit[1]}{new}{hit[2]}", text, flags=re.IGNORECASE)


def examination_extract(examination: Mapping[str, object], audience: Audience) -> dict[str, object]:
    """The examination file that goes with a reader's copy.

    Parameters
    ----------
    examination
        Plain values in the form ``heelstamp/examination/2``.
    audience
        Who reads.

    Returns
    -------
    dict
        The whole file for the consignor and the shop. For outsiders only kinds that tell of the
        instrument, without recordings (voices may be on them) and private photographs and without
        references to either, without file names (a camera's or a person's), masked.
    """
    if not audience.outsider:
        return dict(examination)
    extract: dict[str, object] = {"schema": examination.get("schema", "")}
    instrument = examination.get("instrument")
    if isinstance(instrument, Mapping):
        extract["instrument"] = audience.value(instrument)
    recordings = examination.get("recording")
    heard = {
        body.get("id")
        for body in (recordings if isinstance(recordings, Sequence) else ())
        if isinstance(body, Mapping)
    }
    for kind in OUTSIDER_KINDS:
        bodies = examination.get(kind)
        if not isinstance(bodies, Sequence):
            continue
        kept = []
        for body in bodies:
            if not isinstance(body, Mapping) or body.get("private"):
                continue
            plain = {
                key: [id_ for id_ in audience.frames(one) if id_ not in heard]
                if key in _FRAME_FIELDS and isinstance(one, Sequence)
                else audience.value(one)
                for key, one in body.items()
                if key not in _NEVER
            }
            if kind == "photograph":
                plain["name"] = f"{body.get('id', 'frame')}"
            elif kind == "consent":
                plain["by"] = "the consignor"
            elif body.get("kind") == "serial":
                plain = _unread(plain)
            kept.append(plain)
        extract[kind] = kept
    return extract


def _unread(value: Any) -> Any:
    """Write a masked number as one whose digits cannot be read, so that it can be dated."""
    if isinstance(value, str):
        return value.replace(MASK, UNREAD)
    if isinstance(value, Mapping):
        return {key: _unread(one) for key, one in value.items()}
    return [_unread(one) for one in value] if isinstance(value, list) else value


def journal_extract(
    entries: Sequence[Mapping[str, object]], audience: Audience
) -> list[dict[str, object]]:
    """The journal that goes with a reader's copy.

    For outsiders only the chain: place, kind, digest and previous digest of each entry. It fixes
    what the shop's journal holds without showing it, and any entry shown later can be checked
    against it.
    """
    if not audience.outsider:
        return [dict(entry) for entry in entries]
    return [
        {key: entry[key] for key in ("seq", "kind", "previous", "digest") if key in entry}
        for entry in entries
    ]
