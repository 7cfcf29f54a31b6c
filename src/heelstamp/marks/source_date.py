"""Source-date codes: source number, one or two year digits, week.

Rules
-----
1. The source has one to four digits, the whole at most eight [eia_476a]: with two for the week,
   one or two for the year. Separators are optional; letters, suffixes and part numbers may
   follow, never a digit that touches the week.
2. Weeks are 1 to 53 (see ``weeks``).
3. Without a separator after it, a source of other than three digits is read only if a checked row
   lists it: 137643 is 137-6-43, and 13-76-43 is turned down with that reason.
4. A one-digit year is every year with that last digit, weighed by the share of makers that still
   marked one digit then; a two-digit year is weighed by the share that already marked two. A
   chronology may know a source's last one-digit year.
5. Separators as written win: where they part the text into source, year and week, no reading cuts
   through those groups. 671-48-26 is source 671, and never 67-1-48 across its own hyphens.
6. ``?`` is any digit, or no digit at the price of a smudge; weights add over completions.

Nothing here knows which maker supplied whom. A seven-digit number can also be a part number.
Sources: EIA-476-A (1987) and EIA-476-B (1998), abstracts; the standards body's page on source
codes [ecia_source_codes]. Figures marked as judgement are in ``SourceDateRules``.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator, Mapping
from functools import lru_cache
from typing import NamedTuple

from heelstamp.marks.reading import MarkReadings, Reading, Rejection, distinct, in_order
from heelstamp.marks.smudge import DIGITS, UNREADABLE, agrees, gaps, spell
from heelstamp.marks.source_table import (
    FIRST_YEAR,
    SourceCode,
    SourceDateRules,
    SourceMatch,
    look_up,
)
from heelstamp.marks.weeks import ANCHOR_YEAR, LAST_WEEK, month_shares, week_days
from heelstamp.units import Month, Period

READER = "source-date"
SOURCE_DIGITS = (1, 2, 3, 4)
"""[eia_476a]"""
MOST_DIGITS = 8
"""[eia_476a]"""
SEPARATORS = " \t\n-–—−./_·:,"
LEGAL = "EIA-476-A (1987)"
_ORIGIN = "EIA-476-A (1987) and EIA-476-B (1998), abstracts; ECIA page on source codes"


class _Split(NamedTuple):
    """One way to cut the text: patterns of digits and ``?``."""

    source: str
    year: str
    week: str
    set_off: bool

    @property
    def form(self) -> str:
        return f"{'S' * len(self.source)}-{'Y' * len(self.year)}-WW"

    def __str__(self) -> str:
        return f"{self.source}-{self.year}-{self.week}"


def read_source_date(
    text: str,
    sources: Mapping[str, SourceCode],
    *,
    span: Period,
    one_digit: Mapping[str, int] | None = None,
    rules: SourceDateRules | None = None,
) -> MarkReadings:
    """Read a source-date code in every way the rules allow.

    Parameters
    ----------
    text
        The mark as seen; ``?`` for each unreadable character.
    sources
        Source number → row.
    span
        Months outside which nothing is read.
    one_digit
        Source number → last year in which it marked one year digit (a year before 1946 = never),
        as a chronology knows it.
    rules
        Weights; the documented judgement when absent.

    Returns
    -------
    MarkReadings
        One reading per month and form; weights scaled so that none is above 1.
    """
    rules = rules or SourceDateRules()
    tally = _Tally(sources, one_digit or {}, rules, span)
    parted = _parted(text)
    found = _splits(text, rules, parted)
    for split, weight in found.items():
        tally.add(split, weight)
    if parted:
        for split in _splits(text, rules, {}):
            if split in found:
                continue
            written = " and ".join(dict.fromkeys(parted.values()))
            tally.reject(split, f"the separators as written part the mark into {written}")
    if not found:
        tally.rejections.append(Rejection(_why_none(text), LEGAL))
    return MarkReadings(text, READER, tally.readings(), distinct(tally.rejections)[:12])


_GROUP = re.compile(r"[0-9]+")


def _parted(text: str) -> dict[int, str]:
    """Places inside the groups of digits that separators part into source, year and week.

    Returns
    -------
    dict
        Index between two digits of one such group → the groups as written. Groups beside a ``?``
        are not known whole and part nothing.
    """
    runs = [(one.start(), one.end()) for one in _GROUP.finditer(text)]
    inside: dict[int, str] = {}
    for three in zip(runs, runs[1:], runs[2:], strict=False):
        source, year, week = (text[start:end] for start, end in three)
        between = text[three[0][1] : three[1][0]] + text[three[1][1] : three[2][0]]
        edges = text[max(three[0][0] - 1, 0) : three[0][0]] + text[three[2][1] : three[2][1] + 1]
        if (
            len(source) in SOURCE_DIGITS
            and source.strip("0")
            and len(year) in (1, 2)
            and len(week) == 2
            and 1 <= int(week) <= LAST_WEEK
            and all(one in SEPARATORS for one in between)
            and UNREADABLE not in edges
        ):
            for start, end in three:
                inside.update(dict.fromkeys(range(start + 1, end), f"{source}-{year}-{week}"))
    return inside


def _splits(text: str, rules: SourceDateRules, parted: Container[int]) -> dict[_Split, float]:
    """Enumerate source, year and week, the heaviest way of taking the ``?`` for each.

    No cut is made at the indices of *parted*.
    """
    found: dict[_Split, float] = {}
    for (source, set_off, year, start), weight in _years_read(text, rules, parted).items():
        for (week, end), smudges in spell(text, start, (DIGITS, DIGITS)).items():
            if end < len(text) and text[end] in DIGITS:
                continue
            after = rules.other_digits if any(one in DIGITS for one in text[end:]) else 1.0
            after *= rules.smudge if text[end : end + 1] == UNREADABLE else 1.0
            split = _Split(source, year, week, set_off)
            found[split] = max(weight * after * rules.smudge**smudges, found.get(split, 0.0))
    return found


def _sources_read(text: str, rules: SourceDateRules) -> dict[tuple[str, int], float]:
    """(source digits, index after them) → weight, from every place a code can begin."""
    sources: dict[tuple[str, int], float] = {}
    for start in range(len(text)):
        if start and text[start - 1] in DIGITS:
            continue
        before = rules.other_digits if any(one in DIGITS for one in text[:start]) else 1.0
        before *= rules.smudge if start and text[start - 1] == UNREADABLE else 1.0
        for count in SOURCE_DIGITS:
            for key, smudges in spell(text, start, (DIGITS,) * count).items():
                sources[key] = max(before * rules.smudge**smudges, sources.get(key, 0.0))
    return sources


def _years_read(
    text: str, rules: SourceDateRules, parted: Container[int]
) -> dict[tuple[str, bool, str, int], float]:
    """(source, set off, year digits, index where the week begins) → weight."""
    starts: dict[tuple[str, bool, int], float] = {}
    for (source, end), weight in _sources_read(text, rules).items():
        if end in parted:
            continue
        for place, passed, smudges in gaps(text, end, SEPARATORS):
            key = (source, passed, place)
            starts[key] = max(weight * rules.smudge**smudges, starts.get(key, 0.0))
    years: dict[tuple[str, bool, str, int], float] = {}
    for (source, passed, start), weight in starts.items():
        for count in (1, 2):
            for (year, end), smudges in spell(text, start, (DIGITS,) * count).items():
                if end in parted:
                    continue
                for place, _, more in gaps(text, end, SEPARATORS):
                    read = (source, passed, year, place)
                    here = weight * rules.smudge ** (smudges + more)
                    years[read] = max(here, years.get(read, 0.0))
    return years


@lru_cache(256)
def _weeks_of(pattern: str) -> tuple[int, ...]:
    """The weeks that two characters may be."""
    return tuple(week for week in range(1, LAST_WEEK + 1) if agrees(pattern, f"{week:02d}"))


@lru_cache(256)
def _years_of(pattern: str) -> tuple[int, ...]:
    """The years that end in one or two characters."""
    every = range(FIRST_YEAR, FIRST_YEAR + 100)
    return tuple(year for year in every if agrees(pattern, f"{year:04d}"[-len(pattern) :]))


class _Tally:
    """Adds the weights of splits up by month and form, and keeps what was turned down."""

    def __init__(
        self,
        sources: Mapping[str, SourceCode],
        one_digit: Mapping[str, int],
        rules: SourceDateRules,
        span: Period,
    ) -> None:
        self.sources = sources
        self.one_digit = one_digit
        self.rules = rules
        self.span = span
        self.rejections: list[Rejection] = []
        self._last_one_digit = max(rules.one_digit_share, default=FIRST_YEAR)
        self._weights: dict[tuple[Month, str], float] = {}
        self._best: dict[tuple[Month, str], tuple[float, SourceMatch, _Split, int, int]] = {}
        self._matches: dict[str, SourceMatch] = {}

    def add(self, split: _Split, weight: float) -> None:
        """Add all completions of one split, or say why there is none."""
        if not split.source.strip("0"):
            self.reject(split, "a source number is not 0")
            return
        if split.source not in self._matches:
            self._matches[split.source] = look_up(self.sources, split.source)
        match = self._matches[split.source]
        if not match.listed:
            if len(split.source) != 3 and not split.set_off:
                weight *= self.rules.unlisted_split
                if weight == 0.0:
                    self.reject(
                        split,
                        f"source {split.source} is not on the list held here and nothing sets it "
                        "off from the year; the usual source has three digits",
                    )
                    return
            weight *= self.rules.unlisted_source
        weeks = _weeks_of(split.week)
        if not weeks:
            self.reject(split, f"week {split.week}: weeks run from 01 to {LAST_WEEK}")
            return
        inside = False
        for year, share in self._years(split, match):
            for week in weeks:
                inside |= self._add_week(split, match, year, week, weight * share)
        if not inside:
            self.reject(split, f"no year {split.year} lies in {self.span}")

    def _add_week(
        self, split: _Split, match: SourceMatch, year: int, week: int, weight: float
    ) -> bool:
        inside = False
        for month, part in month_shares(year, week, self.rules.neighbour_week):
            if month not in self.span:
                continue
            inside = True
            key = (month, split.form)
            added = weight * part
            self._weights[key] = self._weights.get(key, 0.0) + added
            if key not in self._best or added > self._best[key][0]:
                self._best[key] = (added, match, split, year, week)
        return inside

    def _years(self, split: _Split, match: SourceMatch) -> Iterator[tuple[int, float]]:
        """Each possible year with P(this number of year digits | year)."""
        digits = len(split.year)
        known = [
            last
            for code, last in self.one_digit.items()
            if agrees(split.source, code.zfill(len(split.source)))
        ]
        for year in _years_of(split.year):
            shares = [
                1.0 - self.rules.known_slip if year <= last else self.rules.known_slip
                for last in known
            ]
            if not known or not match.exact:
                shares.append(self.rules.one_digit_share.get(year, 0.0))
            if digits == 1 and year > max([self._last_one_digit, *known]):
                continue
            style = max(shares) if digits == 1 else 1.0 - min(shares)
            edition = match.edition_weight(year, self.rules)
            if style > 0.0 and edition > 0.0:
                yield year, style * edition
            elif style > 0.0:
                self.reject(split, f"{year}: by the printed lists the number was given out later")

    def reject(self, split: _Split, why: str) -> None:
        """Keep why a split was turned down."""
        self.rejections.append(Rejection(f"{split}: {why}", LEGAL))

    def readings(self) -> tuple[Reading, ...]:
        """One reading per month and form."""
        most = max(self._weights.values(), default=1.0)
        scale = 1.0 / max(most, 1.0)
        made = []
        for (month, form), weight in self._weights.items():
            _, match, split, year, week = self._best[month, form]
            origin = "; ".join(part for part in (_ORIGIN, match.origin()) if part)
            detail = _detail(match, split, year, week)
            made.append(
                Reading(
                    Period(month, month),
                    weight * scale,
                    f"{READER} {form}",
                    origin,
                    detail,
                    source_number=split.source,
                )
            )
        return in_order(made)


def _detail(match: SourceMatch, split: _Split, year: int, week: int) -> str:
    sunday, saturday = week_days(year, week)
    doubt = "" if year >= ANCHOR_YEAR else ", give or take a week"
    best = f", most likely {week}" if UNREADABLE in split.week else ""
    return (
        f"{match.name()}, year {split.year} as {year}, week {split.week}{best}: "
        f"{sunday.isoformat()} to {saturday.isoformat()}{doubt}"
    )


def _why_none(text: str) -> str:
    if not any(one in DIGITS or one == UNREADABLE for one in text):
        return "no digits: a source-date code is source number, year and week"
    run = most = 0
    for character in text:
        run = run + 1 if character in DIGITS else 0
        most = max(most, run)
    if most > MOST_DIGITS:
        return f"{most} digits run together; a source-date code has at most {MOST_DIGITS}"
    return "no source number of 1 to 4 digits followed by year (1 or 2 digits) and week (2 digits)"
