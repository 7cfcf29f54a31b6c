"""Conclusions of many instruments at once, and how two conclusions of one instrument differ.

The same computation as the dating of one dossier (``casework.dating``), without the checks of each
observation: median, 50 % and 90 % ranges, whether a date is withheld, and the word and verdict of
each examined part.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec
import numpy as np

from heelstamp.casework.census.evidence_text import EvidenceReader, Line
from heelstamp.casework.census.rows import Conclusion
from heelstamp.casework.dating.procedure import DATED, LEVELS
from heelstamp.chronology import Chronology, dating_model
from heelstamp.dating import CompiledModel, Evidence, Posterior, infer_many
from heelstamp.dating.identity import (
    DOUBTFUL,
    foreign_bodies,
    foreign_bodies_of,
    foreign_hypothesis,
    several_instruments,
)
from heelstamp.dating.posterior import log_evidence_many
from heelstamp.dating.table import encode
from heelstamp.units import format_month, parse_month
from heelstamp.wording import probability_word
from heelstamp.wording.about_coat import finish_verdict
from heelstamp.wording.about_parts import part_verdict
from heelstamp.wording.strength import VERY_PROBABLY

FINISH = "finish"
ORDINARY = "part"


class Concluder:
    """Concludes instruments under one edition of a chronology."""

    def __init__(self, chronology: Chronology) -> None:
        self.chronology = chronology
        self.reader = EvidenceReader(chronology)
        self.compiled = CompiledModel(dating_model(chronology))
        self._hypothesis = foreign_hypothesis(self.compiled)
        self._forms = {row.key: row.form for row in chronology.parts}
        self._states = {part.name: part.states for part in self.compiled.model.parts}
        verdict, p = part_verdict({"original": 1.0}, examined=True)
        self._first_fitted = f"{probability_word(p)} {verdict}"
        grid = self.compiled.model.completion
        self._months = [format_month(month) for month in grid]

    def conclude(self, lines: Sequence[str | bytes]) -> list[Conclusion]:
        """Return the conclusion of each line of evidence."""
        read = [self.reader.read(one) for one in lines]
        posterior, withheld = self.date([evidence for evidence, _ in read])
        places = self._places(posterior)
        return [
            self._conclusion(row, line, posterior, places, bool(withheld[row]))
            for row, (_, line) in enumerate(read)
        ]

    def date(self, rows: Sequence[Evidence]) -> tuple[Posterior, np.ndarray]:
        """Return the posterior, and whose date is withheld."""
        table = encode(self.compiled, rows)
        posterior = infer_many(self.compiled, table)
        withheld = several_instruments(posterior)
        withheld |= np.array([not any(isinstance(one, DATED) for one in row) for row in rows])
        prior = self.chronology.prior.foreign_body
        foreign = foreign_bodies_of(self.compiled, table, posterior, prior)
        if foreign is None and self._hypothesis is not None:
            foreign = foreign_bodies(posterior, log_evidence_many(self._hypothesis, table), prior)
        if foreign is not None:
            withheld |= foreign >= DOUBTFUL
        return posterior, withheld

    def _places(self, posterior: Posterior) -> np.ndarray:
        """Return the positions of median and ends, (n, 5), as ``dating.summary`` finds them."""
        reached = np.cumsum(posterior.months, axis=1)
        levels = [0.5]
        for level in LEVELS.values():
            levels += [(1 - level) / 2, (1 + level) / 2]
        return np.stack([(reached >= one - 1e-12).argmax(axis=1) for one in levels], axis=1)

    def _conclusion(
        self, row: int, line: Line, posterior: Posterior, places: np.ndarray, withheld: bool
    ) -> Conclusion:
        verdicts = {
            part: self._verdict(part, posterior.states[part][row], line)
            for part in line.x
            if part in self._states
        }
        edition, digest = self.chronology.edition, self.chronology.digest
        if withheld:
            return Conclusion(
                median=None,
                interval={},
                verdicts=verdicts,
                withheld=True,
                edition=edition,
                digest=digest,
            )
        months = [self._months[place] for place in places[row].tolist()]
        return Conclusion(
            median=months[0],
            interval={
                name: (months[2 * i + 1], months[2 * i + 2]) for i, name in enumerate(LEVELS)
            },
            verdicts=verdicts,
            edition=edition,
            digest=digest,
        )

    def _verdict(self, part: str, probabilities: np.ndarray, line: Line) -> str:
        form = self._forms[part]
        outside = part in line.o
        if form == ORDINARY and probabilities[0] >= VERY_PROBABLY and not outside:
            return self._first_fitted  # by far the most frequent: the words of certainty itself
        states: Mapping[str, float] = dict(
            zip(self._states[part], probabilities.tolist(), strict=True)
        )
        if form == FINISH:
            verdict, p = finish_verdict(states, covered_areas_examined=line.c)
        else:
            verdict, p = part_verdict(
                states, examined=True, assumed=form == "anchor", outside=outside
            )
        if verdict in ("not determined", "assumed"):
            return verdict
        return f"{probability_word(p)} {verdict}"


@dataclass(frozen=True)
class Movement:
    """How a conclusion differs from an earlier one of the same instrument.

    Attributes
    ----------
    median
        Months the median moved, later counted as positive; None where a date is withheld on
        either side.
    ends
        Months that the ends of the 90 % range moved, first and last.
    half
        The same of the 50 % range.
    turned
        Parts whose words turned: before and after.
    withheld
        ``given`` or ``withheld`` where that turned, else empty.
    """

    id: str
    median: int | None
    ends: tuple[int, int]
    half: tuple[int, int]
    turned: Mapping[str, tuple[str, str]]
    withheld: str

    @property
    def moved(self) -> bool:
        """Whether anything differs."""
        shifts = (self.median or 0, *self.ends, *self.half)
        return any(shifts) or bool(self.turned) or bool(self.withheld)

    @property
    def size(self) -> tuple[int, int, int]:
        """Order of severity: date given or withheld, months, words turned."""
        months = max(abs(one) for one in (self.median or 0, *self.ends))
        return (int(bool(self.withheld)), months, len(self.turned))


def movement(id_: str, before: Conclusion, after: Conclusion) -> Movement:
    """Compare two conclusions of one instrument."""
    turned = {
        part: (before.verdicts.get(part, "not examined"), after.verdicts.get(part, "not examined"))
        for part in before.verdicts.keys() | after.verdicts.keys()
        if before.verdicts.get(part) != after.verdicts.get(part)
    }
    if before.withheld or after.withheld:
        changed = "" if before.withheld == after.withheld else "given"
        if changed and after.withheld:
            changed = "withheld"
        return Movement(id_, None, (0, 0), (0, 0), turned, changed)
    shifts = {name: _shift(before, after, name) for name in LEVELS}
    middle = _months(after.median) - _months(before.median)
    return Movement(id_, middle, shifts["90"], shifts["50"], turned, "")


def _shift(before: Conclusion, after: Conclusion, level: str) -> tuple[int, int]:
    if before.interval[level] == after.interval[level]:
        return (0, 0)
    old, new = before.interval[level], after.interval[level]
    return _months(new[0]) - _months(old[0]), _months(new[1]) - _months(old[1])


def _months(text: str | None) -> int:
    return parse_month(text or "")


def movement_data(one: Movement) -> dict[str, object]:
    """Return a movement as plain values."""
    return {
        "id": one.id,
        "median": one.median,
        "ends_90": list(one.ends),
        "ends_50": list(one.half),
        "turned": {part: list(words) for part, words in sorted(one.turned.items())},
        "date": one.withheld or None,
    }


CONCLUSION = msgspec.json.Decoder(Conclusion)
"""Reads a kept conclusion."""
