"""The lower word, or *not settled*, wherever a paper says what does not hold under every change.

Rows of the table of parts, sentences about parts, about the date and about readings are taken as
they stand and replaced where the doubt finding lists them; everything else stays. The
figures stay: a posterior and its prior are what the tables give, and the sentence says under which
change the word falls.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from heelstamp.casework.feature_names import FeatureNames, observation_name
from heelstamp.casework.papers.date_section import DateSection
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.units import Period
from heelstamp.wording import Statement, about_unsettled, percent
from heelstamp.wording.about_unsettled import assumption_words

FINISH = "finish"
_DATE_WORDS = {
    "withheld": "no date is given",
    "elsewhere": "it more likely lies outside this range",
    "given": "a date is given",
    "open": "not determined",
}

Turns = list[tuple[str, str]]


@dataclass(frozen=True)
class Unsettled:
    """What turns over, from the JSON form of the sensitivity finding."""

    varied: Mapping[str, Any]
    state: DossierState
    tree: PartsTree
    names: FeatureNames

    def turns(self, key: str) -> Turns | None:
        """Under which changes a statement falls, and what is said then."""
        found = self.varied["unsettled"].get(key)
        if found is None:
            return None
        return [
            (
                assumption_words(one["assumption"], one["factor"]),
                _DATE_WORDS.get(one["verdict"], one["verdict"]),
            )
            for one in found["turns"]
        ]

    def parts(
        self, rows: Sequence[PartRow], said: Sequence[Statement]
    ) -> tuple[tuple[PartRow, ...], tuple[Statement, ...]]:
        """Replace words, verdicts and sentences about parts, and give each word its range."""
        told = {one.id: one for one in said}
        changed: list[PartRow] = []
        for before in rows:
            row, statement = self._ranged(before), told.get(f"part:{before.key}")
            turns = self.turns(f"part:{row.key}")
            if turns is None or statement is None:
                changed.append(row)
                continue
            found = self.varied["unsettled"][statement.id]
            if holds := found["holds"]:
                computed = found["verdict"] if found.get("wider") else row.word
                told[statement.id] = about_unsettled.lowered(statement, holds, turns, computed)
                note = about_unsettled.lower_word.say(computed=computed, turns=turns)
                changed.append(replace(row, word=holds, note=note))
            else:
                told[statement.id] = _not_settled(row, statement, turns)
                changed.append(replace(row, verdict="not settled", word=""))
        return tuple(changed), tuple(told.values())

    def _ranged(self, row: PartRow) -> PartRow:
        """The row with the least and greatest probability of what it says."""
        ends = self.varied["claims"].get(row.key)
        if ends is None or not row.probability:
            return row
        return replace(row, least=percent(ends[0]), most=percent(ends[1]))

    def dated(self, section: DateSection, finding: Mapping[str, Any]) -> DateSection:
        """Replace the sentence of the date, and those of readings."""
        turns = self.turns("date")
        held = self.varied["date"]
        if turns is not None:
            section = self._date(section, finding, turns)
        elif held is not None and section.timeline is not None:
            holds = about_unsettled.range_holds.say(least=held[0])
            section = replace(section, headline_note=f"{section.headline_note} {holds}")
        replaced = {
            one.id: self._reading(one, finding, reading)
            for one in section.inferred
            if (reading := self.turns(one.id)) is not None
        }
        inferred = tuple(replaced.get(one.id, one) for one in section.inferred)
        still_open = [one for one in section.open_readings if one.id not in replaced]
        readings = (*replaced.values(), *still_open)
        return replace(section, inferred=inferred, open_readings=readings)

    def _date(self, section: DateSection, finding: Mapping[str, Any], turns: Turns) -> DateSection:
        line, grounds = section.timeline, section.answer.grounds
        note = f"{section.headline_note} Not settled: another assumption leads elsewhere."
        if line is None:
            answer = about_unsettled.withheld_not_settled(
                section.answer.id,
                grounds,
                reasons=finding["completion"]["withheld"] or (),
                turns=turns,
            )
        else:
            answer = about_unsettled.completion_not_settled(
                section.answer.id,
                grounds,
                interval_90=line.interval_90,
                likeliest=line.likeliest,
                turns=turns,
            )
        return replace(section, answer=answer, headline_note=note)

    def _reading(self, before: Statement, finding: Mapping[str, Any], turns: Turns) -> Statement:
        id_ = before.id.removeprefix("reading:")
        readings = [
            (str(_period(one["period"])), float(one["posterior"] or 0.0))
            for one in finding["observations"][id_]["readings"]
        ]
        return about_unsettled.reading_not_settled(
            before.id,
            before.grounds,
            mark=observation_name(self.state.observations[id_], self.tree, self.names),
            readings=readings,
            turns=turns,
        )


def _not_settled(row: PartRow, before: Statement, turns: Turns) -> Statement:
    say = partial(about_unsettled.part_not_settled, before.id, before.grounds, part=row.label)
    if row.key == FINISH:
        say = partial(about_unsettled.finish_not_settled, before.id, before.grounds)
    return say(verdict=row.said, posterior=row.probability, prior=row.prior, turns=turns)


def _period(written: Any) -> Period:
    return Period.parse(list(written) if isinstance(written, tuple) else written)
