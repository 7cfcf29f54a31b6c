"""The doubt finding: what does not fit and what the answer hangs on, in the form that is kept.

Months are written ``1965-03``. It is a pure function of a date finding's inputs and the table of
wear; its digest is that of the date finding, of the table and of the program's version.
"""

from __future__ import annotations

from typing import Any

import msgspec

from heelstamp.casework.consistency import WearFinding
from heelstamp.casework.dating.finding import MonthPair


class StoryFinding(msgspec.Struct, frozen=True, kw_only=True):
    """One of two accounts of a conflict.

    Attributes
    ----------
    states
        The state of each part in question.
    mistaken
        Ids of observations that are mistakes in this account.
    share, prior
        Its probability after and before the evidence.
    median, interval
        Completion under it.
    """

    states: dict[str, str]
    mistaken: list[str]
    share: float
    prior: float
    median: str
    interval: dict[str, MonthPair]


class DecidingFinding(msgspec.Struct, frozen=True, kw_only=True):
    """An inspection that would tell the two accounts apart, and how well.

    Attributes
    ----------
    inspection
        Its name in the chronology; for a second look the id of the observation.
    again
        It is a second look, by another person, at that observation.
    bits
        Expected fall of the entropy of the choice between the two (1 at most).
    share
        The same as a share of that entropy: of a choice that is nearly made little is left to tell.
    """

    inspection: str
    again: bool
    bits: float
    share: float


class ConflictFinding(msgspec.Struct, frozen=True, kw_only=True):
    """Something that does not fit, with the two best accounts of it.

    Attributes
    ----------
    observations
        Ids of the observations in question.
    surprise
        The least mid-p among them; None when a pair of parts or a part's origin raised it.
    odds
        Probability of the first account over that of the second.
    likelihood_ratio
        How many times likelier what was seen is under the first.
    others
        Probability of all other accounts together.
    deciding
        Best first; those that tell next to nothing are left out.
    """

    parts: list[str]
    observations: list[str]
    surprise: float | None
    first: StoryFinding
    second: StoryFinding
    odds: float
    likelihood_ratio: float
    others: float
    deciding: list[DecidingFinding]


class HangsOn(msgspec.Struct, frozen=True, kw_only=True):
    """A part, and what the date would be without everything seen on it.

    ``months`` is how far it moves the median, later positive.
    """

    part: str
    total_variation: float
    months: int
    median: str
    interval: dict[str, MonthPair]


class SensitivityRow(msgspec.Struct, frozen=True, kw_only=True):
    """The answer under one changed table.

    ``factor`` is what it was multiplied with, or the share it was set to; ``turned`` lists the
    statements that no longer hold.
    """

    assumption: str
    factor: float
    median: str
    interval: dict[str, MonthPair]
    turned: list[str]


class Turn(msgspec.Struct, frozen=True, kw_only=True):
    """What is said instead under one changed table."""

    assumption: str
    factor: float
    verdict: str


class Unsettled(msgspec.Struct, frozen=True, kw_only=True):
    """A statement whose printed words do not hold under every change.

    Attributes
    ----------
    verdict
        What it says by itself: ``very probably original``.
    holds
        The word of probability that holds under every change; empty where none does, and the
        statement is not settled.
    wider
        The verdict that *holds* is said of, where it is one that says less than the first.
    turns
        What is said instead, under each change that it does not stand.
    """

    verdict: str
    holds: str
    turns: list[Turn]
    wider: str = ""


class SensitivityFinding(msgspec.Struct, frozen=True, kw_only=True):
    """Every row, and the ranges over all of them, the tables as they stand included.

    Attributes
    ----------
    lower, upper
        Months between which the ends of the 90 % interval move.
    likeliest
        Months between which the likeliest month moves.
    parts
        Least and greatest P(state) of each part.
    claims
        Least and greatest probability of what is said of each part that earns a word.
    date
        Least and greatest probability of the 90 % range as printed; None where no date is given.
    unsettled
        Statements that turn over, by id: ``date``, ``part:neck``, ``reading:<observation>``.
    """

    rows: list[SensitivityRow]
    lower: MonthPair
    upper: MonthPair
    likeliest: MonthPair
    parts: dict[str, dict[str, tuple[float, float]]]
    claims: dict[str, tuple[float, float]]
    date: tuple[float, float] | None
    unsettled: dict[str, Unsettled]

    def data(self) -> dict[str, Any]:
        """The finding as plain values."""
        plain: dict[str, Any] = msgspec.to_builtins(self)
        return plain


class AgreementFinding(msgspec.Struct, frozen=True, kw_only=True):
    """Marks that agree more closely than lags let one expect."""

    parts: list[str]
    spread: int
    at_most: float


class PairAccount(msgspec.Struct, frozen=True, kw_only=True):
    """What may have become of two neighbours: which is as built, how likely, and when completed."""

    older_built: bool
    younger_built: bool
    probability: float
    interval: dict[str, MonthPair]


class PairFinding(msgspec.Struct, frozen=True, kw_only=True):
    """Two neighbouring parts whose marks lie ``months`` apart; accounts, the likeliest first."""

    older: str
    younger: str
    months: int
    accounts: list[PairAccount]


class DoubtFinding(msgspec.Struct, frozen=True, kw_only=True):
    """What does not fit, and what the answer hangs on.

    Attributes
    ----------
    hangs_on
        Parts that move the date, the strongest first.
    agreement
        Only ever given beside something unexplained.
    pairs
        Neighbours whose marks disagree in age.
    """

    conflicts: list[ConflictFinding]
    hangs_on: list[HangsOn]
    sensitivity: SensitivityFinding
    wear: WearFinding
    agreement: AgreementFinding | None
    pairs: list[PairFinding]
    finding: str
    program: str
    digest: str

    def data(self) -> dict[str, Any]:
        """The finding as plain values."""
        plain: dict[str, Any] = msgspec.to_builtins(self)
        return plain
