"""What was observed on one instrument, in the form that inference takes.

Readings keep their weights P(reading | month) as they are: they are likelihoods, not shares, and
are never normalised over the set of readings (``docs/methods/dating.md``, section 2).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heelstamp.dating.model import check_error
from heelstamp.errors import InputError
from heelstamp.units import Month, Period

EXACT: tuple[tuple[int, float], ...] = ((0, 1.0),)
"""Spread of a mark whose reading names its month."""


class EvidenceError(InputError):
    """An observation cannot be used: unknown name, no reading, impossible weight."""


@dataclass(frozen=True)
class Reading:
    """One way to read a mark: made in any month of ``period``, P(reading | that month)."""

    period: Period
    weight: float

    def __post_init__(self) -> None:
        if not 0 < self.weight <= 1:
            raise EvidenceError(
                "a reading's weight lies above 0 and at most 1", received=self.weight
            )


@dataclass(frozen=True)
class Mark:
    """A date mark on a part.

    Attributes
    ----------
    readings
        All ways to read it.
    error
        Share of garbage readings: the floor is the chance that garbage came out as this set.
    spread
        (shift, probability): the mark names month m + shift for a part made in month m.
    together
        Share of its error in which it fails with every other mark on its part.
    """

    part: str
    readings: tuple[Reading, ...]
    error: float = 0.01
    spread: tuple[tuple[int, float], ...] = EXACT
    together: float = 0.0

    def __post_init__(self) -> None:
        check_error(self.error, f"mark on {self.part}")
        if not 0 <= self.together <= 1:
            raise EvidenceError(
                "a share lies between 0 and 1", where=f"mark on {self.part}", received=self.together
            )
        if not self.readings:
            raise EvidenceError(
                "a mark without a reading is no evidence",
                where=f"mark on {self.part}",
                remedy="Record it as illegible.",
            )


@dataclass(frozen=True)
class FeatureSeen:
    """A variant of a feature was seen."""

    feature: str
    variant: str


@dataclass(frozen=True)
class SerialNumber:
    """Nominal months of a serial number: several with weights when a digit is unsure."""

    months: tuple[tuple[Month, float], ...]

    def __post_init__(self) -> None:
        if not self.months or any(not 0 < weight <= 1 for _, weight in self.months):
            raise EvidenceError("a serial needs months with weights above 0 and at most 1")


@dataclass(frozen=True)
class SignSeen:
    """An outcome of a physical sign was seen."""

    sign: str
    outcome: str


@dataclass(frozen=True)
class StateLikelihood:
    """Evidence from elsewhere on the state of one part: P(seen | state), up to a factor.

    States left out of ``likelihoods`` take the smallest value given.
    """

    part: str
    likelihoods: Mapping[str, float]

    def __post_init__(self) -> None:
        if not self.likelihoods or any(not 0 < p <= 1 for p in self.likelihoods.values()):
            raise EvidenceError(
                "likelihoods lie above 0 and at most 1",
                where=f"state of {self.part}",
                received=dict(self.likelihoods),
                remedy="No observation rules a state out: give a small number instead of 0.",
            )


@dataclass(frozen=True)
class Document:
    """A paper that places completion of this instrument within a period, if it tells the truth."""

    period: Period
    reliability: float

    def __post_init__(self) -> None:
        check_error(1 - self.reliability, "document")


@dataclass(frozen=True)
class MonthLikelihood:
    """Evidence on the completion month itself: one positive number a completion month."""

    values: tuple[float, ...]


@dataclass(frozen=True)
class ScrewsSeen:
    """Of the screws of an opening that could be judged, how many look turned.

    A replaced head counts as turned; a screw that cannot be judged is left out of ``count``.
    """

    opening: str
    count: int
    turned: int

    def __post_init__(self) -> None:
        if not 0 <= self.turned <= self.count or self.count < 1:
            raise EvidenceError(
                "of at least one screw, from none to all look turned",
                where=f"screws of {self.opening}",
                received=f"{self.turned} of {self.count}",
                remedy="Leave out screws that cannot be judged.",
            )


@dataclass(frozen=True)
class MixedSet:
    """A set shows two variants of a feature that one lot shares, such as one odd tuner.

    ``error`` is P(seen | the set was swapped whole), against one if it was not (judgement).
    """

    set: str
    error: float = 0.03

    def __post_init__(self) -> None:
        check_error(self.error, f"mixed set {self.set}")


Observation = (
    Mark
    | FeatureSeen
    | SerialNumber
    | SignSeen
    | StateLikelihood
    | Document
    | MonthLikelihood
    | ScrewsSeen
    | MixedSet
)
"""Anything that inference can take."""

Evidence = tuple[Observation, ...]
"""All observations of one instrument."""
