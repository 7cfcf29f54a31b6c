"""The date finding: what was inferred from a dossier, in the form that is kept and printed.

Months are written ``1965-03``. The finding is a pure function of the observations that stand, the
chronology's edition and the program's version; its digest is that of these three.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import msgspec

MonthPair = tuple[str, str]


class Mode(msgspec.Struct, frozen=True, kw_only=True):
    """A run of probable months and what it holds."""

    months: MonthPair
    p: float


class Spread(msgspec.Struct, frozen=True, kw_only=True):
    """Median and central intervals of a month."""

    median: str
    interval: dict[str, MonthPair]


class Completion(msgspec.Struct, frozen=True, kw_only=True):
    """Completion of the instrument; everything but ``prior`` is empty or null when it is withheld.

    Attributes
    ----------
    months
        P(month | completed within production), where at least 1e-6.
    production, outside
        The years of production, to which all ranges are cut, and P(completed outside them).
    withheld
        Reasons why no date is given; None when it stands.
    """

    median: str | None
    interval: Mapping[str, MonthPair | None]
    modes: list[Mode]
    months: dict[str, float]
    prior: Spread
    production: MonthPair
    outside: float
    withheld: list[str] | None


class ReadingFound(msgspec.Struct, frozen=True, kw_only=True):
    """One reading of a mark, with what all other evidence makes of it."""

    period: str | list[str]
    weight: float
    posterior: float | None
    rule: str
    source: str


class LeftOut(msgspec.Struct, frozen=True, kw_only=True):
    """What the date would be without one observation, or without all of one part.

    ``parts`` are the parts whose states it moves, and how far: half the summed difference of
    P(state) with and without it, where that is at least ``BEARS`` (``wording.strength``).
    """

    predictive: float
    total_variation: float
    median: str
    interval: dict[str, MonthPair]
    parts: dict[str, float] = {}


class ObservationFinding(msgspec.Struct, frozen=True, kw_only=True):
    """What became of one observation: its readings, how well it fits, or why it was not used."""

    part: str
    kind: str
    used: bool
    why_not: str | None
    readings: list[ReadingFound]
    surprise: float | None
    leave_one_out: LeftOut | None


class PartSeen(msgspec.Struct, frozen=True, kw_only=True):
    """What was seen of one part.

    Attributes
    ----------
    looks
        ``own``: of the part itself; ``type``: features alone that show while the way to it is shut;
        ``none``: nothing.
    ways
        Observations of openings, where each way to the part has at least one that was seen.
    acts
        Acts of the shop that would open a way, where none stood open.
    """

    looks: Literal["own", "type", "none"]
    ways: list[str]
    acts: list[str]


class DateFinding(msgspec.Struct, frozen=True, kw_only=True):
    """Everything inferred of one instrument's date and parts.

    Attributes
    ----------
    parts, part_priors
        P(state) of each part after and before the evidence.
    part_dates
        What each part's own dated evidence says by itself, taking the part as first fitted.
    parts_seen
        What was seen of each part itself, and of the ways to it.
    openings, swapped
        P(done before the instrument came in) of each opening, P(swapped whole) of each set; empty
        for a chronology without openings.
    places
        P(touched up) of each place that differs under the lamp, by observation.
    part_influence
        The date without everything seen on one part, for parts whose evidence was used.
    foreign_body
        P(the body came from another instrument than the rest).
    assembled
        P(the whole was put together from several instruments), before the evidence and after it;
        None for a chronology that knows no such history.
    surprising
        Ids of observations that do not fit the others (mid-p below 0.01).
    """

    completion: Completion
    parts: dict[str, dict[str, float]]
    part_priors: dict[str, dict[str, float]]
    parts_seen: dict[str, PartSeen]
    openings: dict[str, float]
    swapped: dict[str, float]
    places: dict[str, float]
    part_dates: dict[str, Spread]
    part_influence: dict[str, LeftOut]
    observations: dict[str, ObservationFinding]
    foreign_body: float | None
    surprising: list[str]
    chronology: str
    chronology_edition: str
    chronology_digest: str
    program: str
    digest: str
    assembled: tuple[float, float] | None = None

    def data(self) -> dict[str, Any]:
        """The finding as plain values."""
        plain: dict[str, Any] = msgspec.to_builtins(self)
        return plain
