"""The rows of a chronology document, one record a kind of row; what each field means.

Months are written ``1965-03``; probabilities are shares of one. Nothing unknown is accepted.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

CHRONOLOGY_SCHEMA = "heelstamp/chronology/1"

Share = Annotated[float, msgspec.Meta(ge=0, le=1)]
Text = Annotated[str, msgspec.Meta(min_length=1)]
Level = Annotated[int, msgspec.Meta(ge=0, le=4)]
"""Invasiveness: 0 looking, 1 nothing fixed is loosened, 2 screws, 3 a joint, 4 never undone."""

Minutes = Annotated[float, msgspec.Meta(ge=0, le=600)]
Caution = Literal["lead_solder", "rod", "string_tension", "uv_lamp"]
Retrofit = Literal["no", "refinish only", "hard", "medium", "easy"]


class Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A row of a chronology: nothing unknown in it."""


class Span(Record, frozen=True, kw_only=True):
    """First and last month."""

    first: Text
    last: Text


class Grid(Record, frozen=True, kw_only=True):
    """The months that completion and make months may take."""

    completion: tuple[str, str]
    marks: tuple[str, str]


class Prior(Record, frozen=True, kw_only=True):
    """What is believed of the completion month and of the body before anything is seen.

    ``foreign_opens`` are openings that were certainly done if the body came from elsewhere.
    """

    uniform_share: Share
    foreign_body: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    volume: Literal["serial"] | dict[str, float] = "serial"
    foreign_opens: list[str] = []


class LagTable(Record, frozen=True, kw_only=True):
    """Months from make to completion: gamma with mean and sd, and a flat tail of old stock."""

    mean: Annotated[float, msgspec.Meta(ge=0.1, le=60)]
    sd: Annotated[float, msgspec.Meta(ge=0.1, le=60)]
    tail_weight: Share
    tail_max: Annotated[int, msgspec.Meta(ge=1, le=60)]


class Gap(Record, frozen=True, kw_only=True):
    """Months from completion to the making of a period replacement; halves every ``half_life``."""

    first: Annotated[int, msgspec.Meta(ge=-240, le=240)]
    last: Annotated[int, msgspec.Meta(ge=-240, le=240)]
    half_life: Annotated[float, msgspec.Meta(ge=0.1, le=1000)]


class TimingTable(Record, frozen=True, kw_only=True):
    """Lags and gaps that hold for parts without their own.

    Every lag is smeared by ``lag_doubt`` months (a standard deviation), because its shape is
    never known well; 0 for a maker whose lags are known, as an invented one's are. Of the error of
    marks, ``marks_together`` is what spoils all marks on one part at once: a part that was swapped
    before it was marked, one hand that misread both (judgement; no source).
    """

    later_from: Annotated[int, msgspec.Meta(ge=1)]
    later_anywhere: Share
    gap: Gap
    lag: LagTable
    lag_doubt: Annotated[float, msgspec.Meta(ge=0, le=24)] = 1.5
    marks_together: Share = 0.5


class HistoryClass(Record, frozen=True, kw_only=True):
    """What kind of life the instrument had.

    Attributes
    ----------
    assembled
        Whether it was put together from several instruments.
    """

    name: Text
    probability: Share
    assembled: bool = False


class AssemblyRow(Record, frozen=True, kw_only=True):
    """Parts opened together, and how often they were, by history class: the short form."""

    name: Text
    parts: list[str]
    disturbed: dict[str, Share]


ByHistory = Share | dict[str, Share]
"""A share by history class, or one for all classes."""


class OpeningRow(Record, frozen=True, kw_only=True):
    """Something that may have been done to an instrument before it came in, such as its guard off.

    ``p`` is how often it was where ``needs`` hold: any list of openings, all of it. ``along`` are
    openings that bring it with them, with their shares. ``careful`` names the access whose careful
    hand hides its traces; ``root`` marks one that several assemblies depend on. ``step`` is the
    step of access in the parts tree that is the same act, ``acts`` are further acts of a shop, in
    the words of treatment entries: what is seen after a shop's own act is no evidence of it.
    """

    name: Text
    label: Text
    p: ByHistory
    needs: list[list[str]] = []
    along: dict[str, Share] = {}
    careful: str | None = None
    root: bool = False
    step: str | None = None
    acts: list[str] = []
    source: str = ""


class SetRow(Record, frozen=True, kw_only=True):
    """Parts that are often swapped whole, all from one ``source``: a state and its share."""

    name: Text
    parts: Annotated[list[str], msgspec.Meta(min_length=1)]
    p: ByHistory
    source: dict[str, Share]
    needs: list[list[str]] = []


class ScrewsTable(Record, frozen=True, kw_only=True):
    """How a count of screws that look turned speaks of an opening; see ``dating.Screws``."""

    tightened: Share = 0.30
    shown: Share = 0.98
    false: Share = 0.02
    error: Annotated[float, msgspec.Meta(gt=0, lt=1)] = 0.01


class PlacesTable(Record, frozen=True, kw_only=True):
    """How places that look different under the lamp speak of the finish together.

    Each is an observation of ``sign``; ``ratio`` holds P(look | touched) / P(look | anything else)
    by its outcome, ``share`` how many of the places are touched where some are. While places are
    entered, the outcomes ``instead`` (sign: outcome) say the same and do not count once more.
    """

    part: Text
    sign: Text
    ratio: dict[str, Annotated[float, msgspec.Meta(gt=0, le=1000)]]
    share: Annotated[float, msgspec.Meta(gt=0, lt=1)] = 0.25
    instead: dict[str, str] = {}


class LevelTable(Record, frozen=True, kw_only=True):
    """P(state) of a part once one of the paths, lists of openings, is open."""

    path: Annotated[list[list[str]], msgspec.Meta(min_length=1)]
    p: tuple[Share, Share, Share, Share]


class PartRow(Record, frozen=True, kw_only=True):
    """A dated part; ``form`` chooses its states.

    With openings it has ``levels``, of which the first with an open path holds, and ``unreached``
    where none is open. In the short form it has a table of its undisturbed and of its disturbed
    assembly instead.
    """

    key: Text
    form: Literal["anchor", "finish", "part"] = "part"
    undisturbed: tuple[Share, Share, Share, Share] | None = None
    disturbed: tuple[Share, Share, Share, Share] | None = None
    unreached: tuple[Share, Share, Share, Share] = (0.9997, 0.0001, 0.0001, 0.0001)
    levels: list[LevelTable] = []
    lag: LagTable | None = None


class BatchRow(Record, frozen=True, kw_only=True):
    """Parts that usually come from one lot."""

    parts: list[str]
    share: Share


class LearnedCurve(Record, frozen=True, kw_only=True):
    """A curve that a census taught: one share a month from ``first`` on, constant outside."""

    first: Text
    values: Annotated[list[Share], msgspec.Meta(min_length=1)]
    from_: Annotated[int, msgspec.Meta(ge=1)] = msgspec.field(name="from")


class LearnedChange(LearnedCurve, frozen=True, kw_only=True):
    """A change-over that a census of ``from`` looks taught, with what is known of its centre."""

    centre: Text
    centre_sd: Annotated[float, msgspec.Meta(ge=0)]
    centre_90: tuple[str, str]
    width: Annotated[float, msgspec.Meta(gt=0)]


class LearnedBatch(LearnedCurve, frozen=True, kw_only=True):
    """A passing batch that a census taught, with the likeliest ends and share."""

    begins: Text
    ends: Text
    share: Share
    share_sd: Annotated[float, msgspec.Meta(ge=0)]


class Change(Record, frozen=True, kw_only=True):
    """One change-over: first month with the new variant seen, last with the old one.

    Where it was learned from a census, that curve is used in place of the two months.
    """

    first_new: Text
    last_old: Text
    width: Annotated[float, msgspec.Meta(ge=0.05, le=240)] | None = None
    source: str = ""
    learned: LearnedChange | None = None


class Passing(Record, frozen=True, kw_only=True):
    """A variant that came and went: months, share of instruments, width of its edges in months.

    Where it was learned from a census, that curve is used in place of the others.
    """

    first: Text
    last: Text
    share: Share
    edge: Annotated[float, msgspec.Meta(ge=0.05, le=240)] = 1.0
    source: str = ""
    learned: LearnedBatch | None = None


class FromMark(Record, frozen=True, kw_only=True):
    """Variant shown by what became of a mark on the part: read, illegible, or absent."""

    part: Text
    read: Text
    illegible: Text
    absent: Text


class FeatureRow(Record, frozen=True, kw_only=True):
    """A feature with ordered variants; on each of ``parts`` it is a feature of its own.

    With ``one_lot`` the parts come from one lot, so that equal variants are counted once; the
    variant that more than half of them show then speaks of ``set_part``, if there is such a part.
    ``when_absent`` is the variant meant by *looked for and absent*.
    ``from_mark``, ``from_serial`` and ``from_source_code`` name observations of other kinds that
    show it without a separate entry; ``also`` are further ids under which it may be entered.
    """

    id: Text
    name: Text
    parts: list[str]
    variants: list[str]
    change: list[Change] = []
    passing: Passing | None = None
    retrofit: Retrofit
    seen_from: Text
    error: Annotated[float, msgspec.Meta(gt=0, lt=1)] = 0.01
    also: list[str] = []
    from_mark: FromMark | None = None
    from_serial: dict[str, str] | None = None
    from_source_code: bool = False
    when_absent: str | None = None
    one_lot: bool = False
    set_part: str | None = None
    source: str = ""


class ExceptionRow(Record, frozen=True, kw_only=True):
    """Where a change-over does not hold; a reason to enter *not applicable*."""

    text: Text
    feature: Text


class Knot(Record, frozen=True, kw_only=True):
    """A point of the serial curve."""

    prefix: str
    number: Annotated[int, msgspec.Meta(ge=0)]
    month: Text


class SerialTable(Record, frozen=True, kw_only=True):
    """The serial curve, its scatter (one standard deviation), and numbers stamped twice."""

    part: Text
    spread_months: Annotated[float, msgspec.Meta(ge=0.1, le=240)]
    error: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    knot: list[Knot]
    duplicated: list[tuple[int, int]] = []
    source: str = ""


class Writing(Record, frozen=True, kw_only=True):
    """A declared order in which a part was marked, and when."""

    part: Text
    order: Text
    first: str | None = None
    last: str | None = None


class SourceCodeRow(Record, frozen=True, kw_only=True):
    """Last year in which a supplier marked a one-digit year (0: never)."""

    code: Text
    one_digit_until: int


class SignRow(Record, frozen=True, kw_only=True):
    """A physical sign on each of ``parts``, on one assembly, or of what was opened.

    ``openings`` names the opening that it speaks of by the part it is seen on; its table then has
    the rows closed, opened, opened by a careful hand. ``count`` says how many screws there are to
    be judged on such a part; a look that counts them goes by their number, not by the table.
    ``covered_area``: it tells of the coating where something covers it.
    """

    id: Text
    name: Text
    outcomes: list[str]
    table: list[list[Share]]
    parts: list[str] = []
    assembly: str | None = None
    openings: dict[str, str] = {}
    count: dict[str, Annotated[int, msgspec.Meta(ge=1, le=99)]] = {}
    error: Annotated[float, msgspec.Meta(gt=0, lt=1)] = 0.01
    group: str | None = None
    covered_area: bool = False

    @property
    def seen_on(self) -> tuple[str, ...]:
        """The parts on which it is seen; empty for one of an assembly."""
        return (*self.parts, *self.openings)


class AccessRow(Record, frozen=True, kw_only=True):
    """One step of access: what opening it costs.

    ``opening`` is a key of the parts tree of the instrument's kind; ``after`` are openings that
    come first; ``closed_by`` are acts that close it again, in the words of treatment entries.
    """

    opening: Text
    invasiveness: Level
    minutes: Minutes
    after: list[str] = []
    closed_by: list[str] = []
    caution: list[Caution] = []
    source: str = ""


class Reveal(Record, frozen=True, kw_only=True):
    """One thing that an inspection shows.

    ``part`` may be left out where there is no choice: a feature of one part, a sign of an
    assembly, the serial number. ``error`` is the share of marks read as something they are not.
    """

    kind: Literal["mark", "feature", "sign", "serial"]
    part: str | None = None
    feature: str | None = None
    sign: str | None = None
    error: Annotated[float, msgspec.Meta(gt=0, lt=1)] | None = None


class InspectionRow(Record, frozen=True, kw_only=True):
    """Something that can be looked at: from which opening, at what cost, and what it shows.

    ``readable`` is P(each thing it shows can be read), whatever there is to read; ``act`` is what
    it does beyond looking, in the words of consent entries.
    """

    id: Text
    name: Text
    opening: Text
    invasiveness: Level
    minutes: Minutes
    readable: Share = 1.0
    reveals: Annotated[list[Reveal], msgspec.Meta(min_length=1)]
    act: str | None = None
    caution: list[Caution] = []
    source: str = ""
