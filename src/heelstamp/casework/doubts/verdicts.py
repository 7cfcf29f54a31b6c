"""What each statement of a paper comes down to under one set of tables, and what leaves it true.

The words are those of the papers: verdicts of parts, whether a date is given and where it lies,
which reading of a mark is called likely. A statement turns over when it no longer holds, not when
a stronger one takes its place: *period-correct* stays true where the part is *original*. What
claims nothing (*not determined*, an open reading) cannot turn over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.papers.part_section import part_verdicts
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.dating import (
    CompiledModel,
    Evidence,
    Mark,
    Posterior,
    judge_identity,
    median,
    reading_posterior,
)
from heelstamp.units import Period
from heelstamp.wording.about_dates import READING_MIN

DATE = "date"
GIVEN, WITHHELD, ELSEWHERE, OPEN = "given", "withheld", "elsewhere", "open"

CLAIMS_NOTHING = frozenset({"not determined", "not examined", "not judged", "assumed", OPEN})

_LEAVES_TRUE: Mapping[str, frozenset[str]] = {
    "period-correct": frozenset({"original"}),
    "replaced": frozenset({"later", "from another"}),
    "first finish, touched or not": frozenset({"first finish", "touched up"}),
}


def leaves_true(word: str, base: str) -> bool:
    """Tell whether a row's *word* leaves the *base* word true."""
    return word == base or base in CLAIMS_NOTHING or word in _LEAVES_TRUE.get(base, frozenset())


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
    foreign_body: float
    dated: bool
    interval: Period | None

    def words(
        self, compiled: CompiledModel, evidence: Evidence, posterior: Posterior
    ) -> dict[str, str]:
        """The word of every statement, by its id."""
        names = {part.name: part.states for part in compiled.model.parts}
        parts: dict[str, Any] = {
            part: dict(zip(names[part], p[0].tolist(), strict=True))
            for part, p in posterior.states.items()
        }
        parts |= {one: parts[whole] for one, whole in self.of_sets.items()}
        finding = {"parts": parts, "part_priors": self.priors, "parts_seen": self.seen}
        verdicts = part_verdicts(self.state, self.tree, self.names, finding)
        found: dict[str, str] = {f"part:{key}": verdict for key, verdict in verdicts.items()}
        found[DATE] = self._date(compiled, evidence, posterior)
        for id_, place in self.marks.items():
            found[f"reading:{id_}"] = _reading(compiled, evidence, place)
        return found

    def _date(self, compiled: CompiledModel, evidence: Evidence, posterior: Posterior) -> str:
        identity = judge_identity(compiled, evidence, posterior, self.foreign_body)
        if identity.withheld or not self.dated:
            return WITHHELD
        middle = median(posterior.months[0], compiled.model.completion)
        return ELSEWHERE if self.interval is not None and middle not in self.interval else GIVEN


def _reading(compiled: CompiledModel, evidence: Evidence, place: int) -> str:
    mark = evidence[place]
    assert isinstance(mark, Mark)
    shares = reading_posterior(compiled, evidence, place)
    best = int(shares.argmax())
    return str(mark.readings[best].period) if shares[best] >= READING_MIN else OPEN
