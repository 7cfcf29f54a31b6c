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
from heelstamp.errors import InputError
from heelstamp.units import Month, Period
from heelstamp.wording import Statement
from heelstamp.wording.about_parts import Verdict, verdict_words
from heelstamp.wording.about_record import Unread

Reader = Literal["consignor", "buyer", "insurer", "shop"]
READERS: tuple[Reader, ...] = ("consignor", "buyer", "insurer", "shop")
OUTSIDERS: tuple[Reader, ...] = ("buyer", "insurer")
"""Readers who never get the consignor's name, a private frame, a place or the full serial."""


@dataclass(frozen=True, slots=True)
class MarkPeriod:
    """One reading of a mark: its months, and how likely it is among the readings (0 to 1)."""

    months: Period
    weight: float


@dataclass(frozen=True, slots=True)
class MarkRow:
    """A row under the completion distribution: one observation with its own period or periods.

    ``used`` is false when the observation was kept out of the computation, and ``why_not`` says
    why.
    """

    id: str
    label: str
    part: str
    periods: tuple[MarkPeriod, ...]
    used: bool = True
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Timeline:
    """The completion distribution and what points to it.

    Attributes
    ----------
    months
        Consecutive months with their probability; together 1 up to a tail too small to draw.
    interval_50, interval_90
        Central ranges.
    likeliest
        Most probable month within the 90 % range, or None where none stands out.
    rows
        Observations with periods of their own.
    """

    months: tuple[tuple[Month, float], ...]
    interval_50: Period
    interval_90: Period
    likeliest: Month | None
    rows: tuple[MarkRow, ...] = ()


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part of the instrument, as the table and the drawing show it.

    Attributes
    ----------
    key
        Key in the parts tree, which is also the name of a region of the drawing.
    number
        Number that keys drawing and table.
    verdict
        What its statement comes down to.
    word
        'probably', 'very probably', or empty.
    probability, prior
        After and before the evidence, as printed: '97 %'; empty where no word is earned.
    ratio, even
        How many times likelier what was seen is if the verdict holds, and the probability that
        this gives from even odds, as printed: '13', '93 %'.
    least, most
        The probability under the changes that move it furthest, as printed; empty where no
        change was tried.
    note
        Why a lower word is printed than was computed; else empty.
    evidence, frames
        Ids of entries and of photographs.
    """

    key: str
    number: int
    label: str
    verdict: Verdict
    word: str = ""
    probability: str = ""
    prior: str = ""
    ratio: str = ""
    even: str = ""
    least: str = ""
    most: str = ""
    note: str = ""
    evidence: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()

    @property
    def said(self) -> str:
        """Word and verdict as printed: 'very probably original'."""
        return verdict_words(self.word, self.verdict)

    @property
    def changed(self) -> str:
        """The range from ``least`` to ``most``, as printed."""
        return self.least if self.least == self.most else f"{self.least} to {self.most}"


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """The answer when one table of the model is changed.

    Attributes
    ----------
    change
        What was changed, in words.
    span, middle
        The 90 % range and the median month, as printed.
    turned
        Names of what is then said in other words, as printed.
    """

    change: str
    span: str
    middle: str
    turned: str


@dataclass(frozen=True, slots=True)
class RecordRow:
    """How often a word of the shop's, or a range of one level, turned out so.

    Attributes
    ----------
    words
        What was said.
    stated
        The probability that had been given, on average, as printed.
    turned_out
        Count and interval, as printed: '18 of 20 (75 % to 96 %)'.
    """

    words: str
    stated: str
    turned_out: str


@dataclass(frozen=True, slots=True)
class NotReadRow:
    """Something that was not read, and which of the four kinds of nothing that is."""

    status: Unread
    part: str
    subject: str
    note: str = ""
    frames: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Check:
    """One line of 'how to check this paper': what, and its value or command."""

    what: str
    value: str
    code: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph of the contact sheet; its bytes travel beside the document.

    Attributes
    ----------
    alt
        Describes it for a reader who cannot see it.
    file
        SHA-256 of the picture as it was taken.
    private
        It stays with the shop.
    aspect
        Width over height, as displayed.
    close
        It shows a part, mark, joint or screw, so that a reader needs a scale or the word that
        there is none.
    bar_mm, bar_share
        Length of a scale bar, and its length as a share of the picture's width; both nought where
        no scale was entered.
    """

    frame: str
    caption: str
    alt: str
    file: str
    simulated: bool = False
    private: bool = False
    aspect: float = 4 / 3
    close: bool = False
    bar_mm: float = 0.0
    bar_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Plate:
    """A picture made of a finding; its bytes travel beside the document under ``key``."""

    key: str
    caption: str
    alt: str


@dataclass(frozen=True, slots=True)
class RegionRow:
    """One region of differing glow, as printed.

    Attributes
    ----------
    number
        Number in the picture and in the table.
    kind
        'darker', 'brighter', 'other hue', 'gradual': also the name of its pattern.
    how
        The kind in words, and the place in the photograph.
    area, ratio
        '2.04 ± 0.11 cm²', empty without a scale; glow over that of the finish around.
    seen
        Whether the eye sees it in ordinary light.
    causes, deciding
        Possible causes with their support, and what would tell the first two apart.
    confidence
        Share of regions like it that were true differences on simulated pairs.
    """

    number: int
    kind: str
    how: str
    area: str
    ratio: str
    seen: str
    causes: str
    deciding: str
    confidence: str


@dataclass(frozen=True, slots=True)
class FinishFace:
    """What a visible / UV-A pair of one face came to.

    Attributes
    ----------
    title
        'Front', or the frames where the face has no name.
    answer
        One sentence, or the reasons why it could not be assessed.
    short
        The answer for the first page: what was left open is counted there.
    plates
        Side by side, and the overlay; none for a refused pair, and none for a reader who may not
        see one of its frames.
    notes
        What weakens the answer, what was too small, that pictures are simulated.
    finding
        SHA-256 of everything the answer depends on.
    private
        A frame of the pair stays with the shop.
    """

    title: str
    frames: tuple[str, ...]
    answer: tuple[Statement, ...]
    short: tuple[Statement, ...]
    regions: tuple[RegionRow, ...]
    plates: tuple[Plate, ...]
    notes: tuple[Statement, ...]
    finding: str
    private: bool = False


@dataclass(frozen=True, slots=True)
class SummaryRow:
    """A line of the first page: what a buyer asks first, and its sentences."""

    label: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class KeyPicture:
    """A photograph beside the sentences that rest on it.

    Attributes
    ----------
    frame
        Id of the photograph.
    heading
        What is to be seen.
    statements
        What was seen there, and what was concluded of the part.
    """

    frame: str
    heading: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class PlayRow:
    """One reading of how it plays, as found and as it leaves, as printed."""

    measure: str
    found: str
    final: str


@dataclass(frozen=True, slots=True)
class CustodyRow:
    """One change of hands or place, as printed."""

    day: str
    event: str
    hands: str
    place: str
    weight: str


@dataclass(frozen=True, slots=True)
class ScaleRow:
    """One line of the scale of words."""

    words: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Version:
    """A version of this paper (rule 15): what changed against the last; SHA-256 of an earlier."""

    number: int
    date: str
    reason: str
    digest: str = ""


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
