"""Who may read what: masking, held-back frames, and names, in the words of a paper.

The consignor and the shop see all. A buyer and an insurer are outsiders: what they get is made
from the public record (`heelstamp.casework.papers.public_record`), by field. The search for
numbers and names here is a second net under it, and no more: it knows the exact words only. A
buyer's report names no entry and has each figure of probability once, beside its word in the table
of parts. Common practice of the trade, no source. A number legible in a photograph is the
photographer's to keep out, which is why frames can be marked private.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import TypeVar

from heelstamp.casework.papers.document import OUTSIDERS, Reader, ReportDocument
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.wording import Statement
from heelstamp.wording.sentences import counted

MASK = "•"
UNREAD = "?"
"""What an examination file writes for a character that cannot be read."""

KEPT_BY_SHOP = "kept by the shop"
REASON_KEPT = "reason kept by the shop"
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

_VERBATIM = frozenset(
    {
        "id",
        "key",
        "kind",
        "verdict",
        "status",
        "layer",
        "template",
        "reader",
        "frame",
        "file",
        "cover",
    }
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
    unread
        Numbers of a public record, whose hidden characters are printed as hidden.
    """

    reader: Reader
    serials: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    private_frames: frozenset[str] = frozenset()
    unread: tuple[str, ...] = ()

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
        for number in self.unread:
            text = text.replace(number, number.replace(UNREAD, MASK))
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
    """Cut a full report to its reader: texts masked, private frames gone."""
    kept = tuple(
        picture for picture in document.pictures if not (audience.outsider and picture.private)
    )
    faces = tuple(
        replace(face, plates=()) if audience.outsider and face.private else face
        for face in document.finish
    )
    shown = {picture.frame for picture in kept}
    mine = replace(
        document,
        reader=audience.reader,
        pictures=kept,
        finish=faces,
        cover=tuple(frame for frame in document.cover if frame in shown),
        keys=tuple(one for one in document.keys if one.frame in shown),
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
