"""The rows that an examination report is made of: marks, parts, changes, pictures, faces, hands.

Plain frozen content, each row as its reader may see it; `document` holds them together.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.units import Month, Period
from heelstamp.wording import Statement
from heelstamp.wording.about_parts import Verdict, verdict_words
from heelstamp.wording.about_record import Unread


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
