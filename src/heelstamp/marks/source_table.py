"""The table of source numbers and the numbers that weigh a source-date code.

A source number stands for whoever made an electronic part (potentiometer, capacitor, loudspeaker,
tube). No name is held: number and kind of part are what a reading needs.
Thirteen official lists were printed, 1946 to 2001 [ecia_source_codes]; which list a number first
and last stands in is not known for the rows held here, and is said so. A row from memory tells
the examiner a kind of part and weighs no more than an unlisted number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from heelstamp.errors import InputError
from heelstamp.marks.smudge import UNREADABLE, agrees

EDITIONS = (1946, 1953, 1959, 1961, 1962, 1981, 1994, 1995, 1996, 1997, 1998, 1999, 2001)
"""Years of the official lists [ecia_source_codes]."""
FIRST_YEAR = 1946
"""First year read: the first list's (the system ran from 1945 [eia_476b])."""


@dataclass(frozen=True, slots=True)
class SourceCode:
    """One row: a source number, kinds of part, and the first and last list known to hold it."""

    code: str
    part_kinds: tuple[str, ...]
    evidence: bool
    source: str
    first_edition: int | None = None
    last_edition: int | None = None

    def earliest_year(self) -> int:
        """The earliest year the number can have been marked.

        A number that is first printed in one list was given out after the list before it.
        """
        if self.first_edition is None:
            return FIRST_YEAR
        return max((year for year in EDITIONS if year < self.first_edition), default=FIRST_YEAR)

    def edition_note(self) -> str:
        """Say which lists the number stands in."""
        if self.first_edition is None and self.last_edition is None:
            return "edition not known"
        return f"in the lists {self.first_edition or '?'} to {self.last_edition or '?'}"


def _falling() -> Mapping[int, float]:
    later = (0.90, 0.60, 0.50, 0.40, 0.30, 0.20, 0.15, 0.12, 0.10, 0.08)
    usage = dict.fromkeys(range(FIRST_YEAR, 1960), 0.98)
    usage.update({1960 + offset: share for offset, share in enumerate(later)})
    return MappingProxyType(usage)


@dataclass(frozen=True, slots=True)
class SourceDateRules:
    """Numbers that weigh readings of a source-date code. All are our judgement, to be set.

    No primary source says when makers went from one year digit to two. Secondary pages put it
    about 1961 for potentiometers, later for loudspeakers and capacitors, and one reads a
    one-digit code as 1967: hence a share that falls through the 1960s and never ends a decade
    outright.

    Attributes
    ----------
    one_digit_share
        Year → share of makers that marked one year digit, 0 < share < 1; its keys are the years
        that a one-digit year may mean.
    known_slip
        Share left to the other style when a chronology knows a source's last one-digit year.
    unlisted_source
        Weight of a number that no checked row lists, against 1 for one that is listed.
    unlisted_split
        Weight of an unseparated split whose source has not three digits and is not listed;
        0 turns it down, with the reason.
    smudge
        Weight of each ``?`` taken as no digit.
    other_digits
        Weight when digits that belong to no group stand before or after the code.
    neighbour_week
        Share of each neighbouring week before 1999.
    after_last_edition
        Weight of a year later than the list after the last one that holds the number.
    """

    one_digit_share: Mapping[int, float] = field(default_factory=_falling)
    known_slip: float = 0.02
    unlisted_source: float = 0.25
    unlisted_split: float = 0.0
    smudge: float = 0.1
    other_digits: float = 0.5
    neighbour_week: float = 0.25
    after_last_edition: float = 0.1

    def __post_init__(self) -> None:
        if not all(0.0 < share < 1.0 for share in self.one_digit_share.values()):
            raise InputError(
                "a share of one-digit years must lie between 0 and 1",
                received=dict(self.one_digit_share),
                remedy="Leave a year out to forbid it; no share is ever 0 or 1.",
            )
        if not all(FIRST_YEAR <= year <= FIRST_YEAR + 99 for year in self.one_digit_share):
            raise InputError(
                "a one-digit year outside the life of the code",
                received=sorted(self.one_digit_share),
                remedy=f"Use years from {FIRST_YEAR} to {FIRST_YEAR + 99}.",
            )
        for name in ("known_slip", "unlisted_source", "smudge", "other_digits"):
            if not 0.0 < getattr(self, name) <= 1.0:
                raise InputError(
                    f"{name} must be above 0 and at most 1", received=getattr(self, name)
                )
        if not 0.0 <= self.neighbour_week <= 0.5:
            raise InputError("neighbour_week must be 0 to 0.5", received=self.neighbour_week)


@dataclass(frozen=True, slots=True)
class SourceMatch:
    """What the table says of a source number that may hold unreadable digits."""

    pattern: str
    rows: tuple[SourceCode, ...]

    @property
    def listed(self) -> bool:
        """Whether a checked row agrees."""
        return any(row.evidence for row in self.rows)

    @property
    def exact(self) -> bool:
        """Whether every digit was read."""
        return UNREADABLE not in self.pattern

    def edition_weight(self, year: int, rules: SourceDateRules) -> float:
        """Weigh *year* by the lists: 0 before the number can have been given out."""
        rows = [row for row in self.rows if row.evidence]
        if not rows or not self.exact:
            return 1.0
        row = rows[0]
        if year < row.earliest_year():
            return 0.0
        if row.last_edition is not None:
            after = [edition for edition in EDITIONS if edition > row.last_edition]
            if after and year > after[0]:
                return rules.after_last_edition
        return 1.0

    def name(self) -> str:
        """Tell the source number to the examiner, and on which kinds of part it stands."""
        if not self.rows:
            return f"source {self.pattern} (not on the list held here)"
        shown = "; ".join(
            ("" if self.exact else f"{row.code} ")
            + " or ".join(row.part_kinds)
            + (f", {row.edition_note()}" if row.evidence else ", from memory, given no weight")
            for row in self.rows[:3]
        )
        more = "; …" if len(self.rows) > 3 else ""
        return f"source {self.pattern} ({shown}{more})"

    def origin(self) -> str:
        """The sources of the checked rows."""
        return "; ".join(dict.fromkeys(row.source for row in self.rows if row.evidence))


def look_up(sources: Mapping[str, SourceCode], pattern: str) -> SourceMatch:
    """Find the rows that agree with *pattern*; leading noughts do not count."""
    bare = pattern.lstrip("0")
    if UNREADABLE not in pattern:
        row = sources.get(bare)
        return SourceMatch(pattern, () if row is None else (row,))
    rows = [row for row in sources.values() if _agrees_bare(pattern, row.code)]
    return SourceMatch(pattern, tuple(sorted(rows, key=lambda row: (not row.evidence, row.code))))


def _agrees_bare(pattern: str, code: str) -> bool:
    return agrees(pattern, code.zfill(len(pattern)))
