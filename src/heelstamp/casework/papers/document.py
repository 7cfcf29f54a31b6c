"""What an examination report says, apart from how a page looks.

A report is plain frozen content: statements of ``heelstamp.wording``, rows of tables, months with
probabilities, and references to photographs. A renderer turns it into pages; nothing here knows
typst or PDF. The four kinds of nothing (not looked at, absent, illegible, not applicable) are four
lists, and a seen fact, a measured value, an inference and an opinion are four tables. A document
holds what its reader may see and nothing else: leaving out is done before it is built.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from typing import Literal

from heelstamp.casework.cautions import Caution
from heelstamp.casework.papers.document_rows import (
    ChangeRow,
    Check,
    CustodyRow,
    FinishFace,
    KeyPicture,
    NotReadRow,
    PartRow,
    Picture,
    PlayRow,
    RecordRow,
    ScaleRow,
    SummaryRow,
    Timeline,
    Version,
)
from heelstamp.errors import InputError
from heelstamp.wording import Statement

Reader = Literal["consignor", "buyer", "insurer", "shop"]
READERS: tuple[Reader, ...] = ("consignor", "buyer", "insurer", "shop")
OUTSIDERS: tuple[Reader, ...] = ("buyer", "insurer")
"""Readers who never get the consignor's name, a private frame, a place or the full serial."""


@dataclass(frozen=True, slots=True)
class ReportDocument:
    """A whole examination report for one reader.

    Attributes
    ----------
    title, subtitle
        Model and maker; the kind of paper.
    headline, headline_note
        The answer in the fewest words, and the line below it.
    tag, program
        Shop's tag of the dossier and 'Heelstamp 0.1.0': the running head.
    kind
        'guitar' or 'bass': which drawing.
    banner
        Printed on every page of a demonstration: that instrument and pictures are invented.
    doubts, changes
        What does not fit and what the answer hangs on, with one row a changed table; both empty
        where no doubts were examined.
    record, record_rows
        How often what the shop had said turned out so; empty until there are cases enough.
    finish, finish_limits
        One face a pair that was compared, and what no glow can tell, said once.
    summary, cover
        Lines of the first page, and the photographs on it.
    keys
        Marks and joints that the answer rests on, large, beside their sentences.
    condition
        Grades, then what was seen of wear and damage.
    plays, plays_told
        Readings of the setup and the electrics, and sentences about them.
    searches
        Registers that were searched for the number.
    method
        What was considered, the claim, who examined.
    custody
        Through whose hands it went, with weights; none for outsiders.

    Raises
    ------
    InputError
        Two statements, parts or frames share an id, or a part's number is not its place.
    """

    title: str
    subtitle: str
    reader: Reader
    tag: str
    program: str
    kind: str
    headline: str
    headline_note: str
    identity: tuple[tuple[str, str], ...]
    conclusions: tuple[Statement, ...]
    timeline: Timeline | None
    parts: tuple[PartRow, ...]
    part_statements: tuple[Statement, ...]
    seen: tuple[Statement, ...]
    measured: tuple[Statement, ...]
    inferred: tuple[Statement, ...]
    opinions: tuple[Statement, ...]
    not_read: tuple[NotReadRow, ...]
    acts: tuple[Statement, ...]
    told: tuple[Statement, ...]
    cautions: tuple[Caution, ...]
    scale: tuple[ScaleRow, ...]
    checks: tuple[Check, ...]
    pictures: tuple[Picture, ...]
    versions: tuple[Version, ...]
    banner: str = ""
    doubts: tuple[Statement, ...] = ()
    changes: tuple[ChangeRow, ...] = ()
    finish: tuple[FinishFace, ...] = ()
    finish_limits: tuple[Statement, ...] = ()
    summary: tuple[SummaryRow, ...] = ()
    cover: tuple[str, ...] = ()
    keys: tuple[KeyPicture, ...] = ()
    condition: tuple[Statement, ...] = ()
    plays: tuple[PlayRow, ...] = ()
    plays_told: tuple[Statement, ...] = ()
    searches: tuple[Statement, ...] = ()
    method: tuple[Statement, ...] = ()
    custody: tuple[CustodyRow, ...] = ()
    record: tuple[Statement, ...] = ()
    record_rows: tuple[RecordRow, ...] = ()

    def __post_init__(self) -> None:
        unique: dict[str, list[str]] = {
            "statement": [statement.id for statement in self.statements()],
            "part": [part.key for part in self.parts],
            "frame": [picture.frame for picture in self.pictures],
        }
        for what, ids in unique.items():
            twice = sorted({one for one in ids if ids.count(one) > 1})
            if twice:
                raise InputError(
                    f"two entries of a report share a {what} id",
                    received=", ".join(twice),
                    remedy="Give each its own.",
                )
        if [part.number for part in self.parts] != list(range(1, len(self.parts) + 1)):
            raise InputError(
                "parts are not numbered by their place",
                received=", ".join(str(part.number) for part in self.parts),
                remedy="Number them 1, 2, 3, … in the order of the table.",
            )

    def statements(self) -> Iterator[Statement]:
        """Every statement, in the order of print."""
        for group in (
            *(row.statements for row in self.summary),
            self.conclusions,
            *(one.statements for one in self.keys),
            self.condition,
            self.part_statements,
            self.plays_told,
            self.searches,
            self.method,
            *((*face.answer, *face.notes) for face in self.finish),
            self.finish_limits,
            self.seen,
            self.measured,
            self.inferred,
            self.doubts,
            self.opinions,
            self.acts,
            self.told,
            self.record,
        ):
            yield from group

    def frames(self) -> frozenset[str]:
        """Name every photograph that the report refers to."""
        named = {frame for statement in self.statements() for frame in statement.frames}
        named |= {frame for part in self.parts for frame in part.frames}
        named |= {frame for face in self.finish for frame in face.frames}
        return frozenset(named | {frame for row in self.not_read for frame in row.frames})


def texts(value: object) -> Iterator[str]:
    """Every string inside a document, any part of one, or plain values, in order."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, (tuple, list)):
        for one in value:
            yield from texts(one)
    elif isinstance(value, dict):
        yield from texts(list(value.values()))
    elif is_dataclass(value):
        for field in fields(value):
            yield from texts(getattr(value, field.name))
