"""What was told, at the strength of telling, as evidence on the month of completion.

A fact is told rightly with a chance *r*; told wrongly, it is any that could have been told, as
often as such instruments show it, and says nothing of the month:

    P(told | month) / P(told) = r P(month | fact) / P(month) + (1 - r)

P(month | fact) is the exact posterior of the dating model for that fact alone, so that a replaced
part and a bin of plates are counted as they are there. Several facts count as independent given
the month, which overstates two of one part. Only months follow: no state of a part is taken from
words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heelstamp.casework.claimed_months import Claimed, claimed_months
from heelstamp.casework.dating.procedure import gather
from heelstamp.casework.dating.production import cut, production_of
from heelstamp.casework.dating.translation import translate
from heelstamp.casework.first_call.asked import FEATURE, AsTold
from heelstamp.casework.first_call.record import features_asked
from heelstamp.catalogue import Observation
from heelstamp.chronology import Chronology
from heelstamp.dating import (
    CompiledModel,
    Evidence,
    MonthLikelihood,
    central_interval,
    infer_many,
    median,
)
from heelstamp.dating.model import Array
from heelstamp.errors import InputError
from heelstamp.marks import MarkContext
from heelstamp.units import Period

NOT_FITTING = 0.1
"""``Told.fits`` below which a fact does not fit what else was told (our choice)."""


@dataclass(frozen=True)
class Told:
    """One fact that was told.

    Attributes
    ----------
    key, text
        Question and answer.
    ratio
        P(told | month) / P(told) of each completion month; None where it bears on none.
    why_not
        Why it bears on none.
    fits
        P(this fact | everything else that was told) / P(this fact), were it told rightly.
    """

    key: str
    text: str
    ratio: Array | None
    why_not: str = ""
    fits: float = 1.0


@dataclass(frozen=True)
class Months:
    """Months of completion at the strength of telling.

    Attributes
    ----------
    range_90, middle
        Central 90 % and median, cut to the years of production.
    before_90
        The same range with nothing told.
    outside
        Chance that it was made outside of these years.
    told
        Each answer that could bear on the month.
    claimed
        Months that words of its age name; they are compared and not counted.
    evidence
        For price and plan: a likelihood of months, or nothing.
    """

    range_90: Period
    middle: int
    before_90: Period
    outside: float
    told: tuple[Told, ...]
    claimed: Claimed | None
    evidence: Evidence

    @property
    def bears(self) -> bool:
        """Whether anything that was told bears on the month."""
        return any(one.ratio is not None for one in self.told)

    @property
    def at_odds(self) -> tuple[Told, ...]:
        """Facts that do not fit the others."""
        return tuple(one for one in self.told if one.ratio is not None and one.fits < NOT_FITTING)


def months_as_told(
    answers: Mapping[str, str],
    chronology: Chronology,
    context: MarkContext,
    compiled: CompiledModel,
    strength: AsTold,
) -> Months:
    """Weigh what was told.

    Parameters
    ----------
    answers
        By key of the question; those that bear on no month are left alone.
    compiled
        The chronology's model.
    """
    grid = compiled.model.completion
    facts = _facts(answers, chronology, context)
    usable = [one for one in facts if one.evidence]
    found = infer_many(compiled, [(), *(one.evidence for one in usable)])
    before = found.months[0]
    ratios, fits = {}, {}
    for place, one in enumerate(usable, start=1):
        ratios[one.key] = _ratio(found.months[place], before, one.chance(strength))
    for place, one in enumerate(usable, start=1):
        others = [ratio for name, ratio in ratios.items() if name != one.key]
        weights = before * np.prod([np.ones(len(before)), *others], axis=0)
        rightly = _ratio(found.months[place], before, 1.0)
        fits[one.key] = float(weights @ rightly / weights.sum())
    told = tuple(
        Told(one.key, one.text, ratios.get(one.key), one.why_not, fits.get(one.key, 1.0))
        for one in facts
    )
    joint = np.prod(list(ratios.values()), axis=0) if ratios else np.ones(len(before))
    evidence: Evidence = (MonthLikelihood(tuple(joint.tolist())),) if ratios else ()
    after = before * joint
    inside = cut(after / after.sum(), grid, production_of(chronology))
    prior = cut(before, grid, production_of(chronology))
    return Months(
        central_interval(inside.months, grid, 0.9),
        median(inside.months, grid),
        central_interval(prior.months, grid, 0.9),
        inside.outside,
        told,
        claimed_months(answers["age"]) if answers.get("age") else None,
        evidence,
    )


@dataclass(frozen=True)
class _Fact:
    key: str
    text: str
    evidence: Evidence
    why_not: str

    def chance(self, strength: AsTold) -> float:
        return strength.serial if self.key == "serial" else strength.feature


def _facts(answers: Mapping[str, str], chronology: Chronology, context: MarkContext) -> list[_Fact]:
    found = []
    if answers.get("serial") and chronology.serial is not None:
        told = Observation(
            id="told",
            part=chronology.serial.part,
            kind="serial",
            status="read",
            text=answers["serial"],
        )
        found.append(_fact("serial", answers["serial"], told, chronology, context))
    for row in features_asked(chronology):
        text = answers.get(FEATURE + row.id)
        if text is not None:
            told = Observation(
                id="told",
                part=row.set_part or row.parts[0],
                kind="feature",
                status="read",
                feature=row.id,
                variant=text,
            )
            found.append(_fact(FEATURE + row.id, text, told, chronology, context))
    return found


def _fact(
    key: str, text: str, told: Observation, chronology: Chronology, context: MarkContext
) -> _Fact:
    try:
        evidence, _ = gather(translate([told], chronology, context))
    except InputError as error:
        return _Fact(key, text, (), error.what)
    return _Fact(key, text, evidence, "" if evidence else "the chronology gives it no weight")


def _ratio(months: Array, before: Array, chance: float) -> Array:
    safe = np.where(before > 0, before, 1.0)
    return np.asarray(chance * np.where(before > 0, months / safe, 1.0) + (1 - chance))
