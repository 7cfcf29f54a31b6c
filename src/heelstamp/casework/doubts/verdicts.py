"""What each statement of a paper comes down to under one set of tables, and what leaves it true.

The words are those of the papers: the word and verdict of each part as printed, whether a date is
given and where it lies, which reading of a mark is called likely. A word about a part is tried as
what it claims: *period-correct* stays true where the part is *original*. What claims nothing (*not
determined*, an open reading) cannot turn over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.dating.fixed_features import fixed_at_odds
from heelstamp.casework.dating.production import OUTSIDE_MOST, cut, production_of
from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.papers.part_section import Claim, part_claims
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.chronology import Chronology
from heelstamp.dating import CompiledModel, Evidence, Mark, Posterior, judge_identity
from heelstamp.dating.model import Array
from heelstamp.units import MonthGrid, Period
from heelstamp.wording.about_dates import READING_MIN

DATE = "date"
GIVEN, WITHHELD, ELSEWHERE, OPEN = "given", "withheld", "elsewhere", "open"

LIKELIER_WRONG = 0.5
"""Probability of the printed range below which it says nothing of the date (our choice)."""


def leaves_true(word: str, base: str) -> bool:
    """Tell whether a row's *word* of the date or a reading leaves the *base* word true."""
    return base in (word, OPEN)


@dataclass(frozen=True)
class Verdicts:
    """Reduces posteriors of one dossier to words.

    Attributes
    ----------
    priors
        P(state) of each part before the evidence, by state.
    of_sets
        Parts that are spoken of with their set only.
    seen
        What was seen of each part, as in the date finding.
    marks
        Place in the evidence of each mark with several readings, by observation.
    dated
        Whether anything seen tells of months; where nothing does no date is given.
    interval
        The 90 % interval with the tables as they stand; None where the date is withheld.
    """

    state: DossierState
    tree: PartsTree
    names: FeatureNames
    priors: Mapping[str, Mapping[str, float]]
    of_sets: Mapping[str, str]
    seen: Mapping[str, Any]
    marks: Mapping[str, int]
    chronology: Chronology
    dated: bool
    interval: Period | None

    def claims(self, compiled: CompiledModel, posterior: Posterior) -> dict[str, Claim]:
        """What is claimed of each part that gets a row, by its key."""
        names = {part.name: part.states for part in compiled.model.parts}
        parts: dict[str, Any] = {
            part: dict(zip(names[part], p[0].tolist(), strict=True))
            for part, p in posterior.states.items()
        }
        parts |= {one: parts[whole] for one, whole in self.of_sets.items()}
        finding = {"parts": parts, "part_priors": self.priors, "parts_seen": self.seen}
        return part_claims(self.state, self.tree, self.names, finding)

    def words(
        self,
        compiled: CompiledModel,
        evidence: Evidence,
        posterior: Posterior,
        readings: Mapping[int, Array],
    ) -> dict[str, str]:
        """The word of every statement, by its id; *readings* are those of ``marks``, by place."""
        claims = self.claims(compiled, posterior)
        found = {f"part:{key}": claim.words for key, claim in claims.items()}
        found[DATE] = self._date(compiled, evidence, posterior)
        for id_, place in self.marks.items():
            found[f"reading:{id_}"] = _reading(evidence, place, readings[place])
        return found

    def _date(self, compiled: CompiledModel, evidence: Evidence, posterior: Posterior) -> str:
        foreign = self.chronology.prior.foreign_body
        identity = judge_identity(compiled, evidence, posterior, foreign)
        fixed = fixed_at_odds(compiled, evidence, posterior, self.chronology)
        grid = compiled.model.completion
        inside = cut(posterior.months[0], grid, production_of(self.chronology))
        if identity.withheld or fixed or not self.dated or inside.outside > OUTSIDE_MOST:
            return WITHHELD
        if self.interval is None:
            return GIVEN
        held = mass(inside.months, grid, self.interval)
        return ELSEWHERE if held < LIKELIER_WRONG else GIVEN


def mass(months: Array, grid: MonthGrid, period: Period) -> float:
    """The probability of a period."""
    first, last = max(period.first, grid.first), min(period.last, grid.last)
    return float(months[first - grid.first : last - grid.first + 1].sum())


def _reading(evidence: Evidence, place: int, shares: Array) -> str:
    mark = evidence[place]
    assert isinstance(mark, Mark)
    best = int(shares.argmax())
    return str(mark.readings[best].period) if shares[best] >= READING_MIN else OPEN
