"""What is said of an instrument's date and parts: the one place that every face takes it from.

Command, pages and papers print these rows, words and sentences and work out none of their own: a
word as the evidence gives it, brought down to what holds under every changed table, and then to
what the examiner chose.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import FeatureNames, heading
from heelstamp.casework.papers.chosen_words import choices_of, with_chosen_words
from heelstamp.casework.papers.date_section import DateSection, date_section
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.casework.papers.part_section import part_section
from heelstamp.casework.papers.unsettled import Unsettled
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.wording import Statement
from heelstamp.wording.about_unsettled import NOT_SETTLED

CHANGED = ("later", "from another", "replaced", "refinished", "touched up")
"""Verdicts of a part that is no longer as first fitted."""


@dataclass(frozen=True, slots=True)
class Said:
    """The date and the parts in the words that are printed.

    Attributes
    ----------
    rows, statements
        One row a part, numbered from 1; sentences about parts, with ids ``part:<key>``.
    computed
        The same sentences before any word was chosen, by id.
    found_changed
        Keys of the parts that the evidence by itself tells to be no longer as first fitted, whether
        or not that holds under every changed table.
    """

    dated: DateSection
    rows: tuple[PartRow, ...]
    statements: tuple[Statement, ...]
    computed: Mapping[str, Statement]
    found_changed: frozenset[str]

    @property
    def lowered(self) -> tuple[str, ...]:
        """Why parts are not settled, or said in a lower word: sentences, in the order of parts."""
        told = {one.id: one for one in self.statements}
        found = []
        for row in self.rows:
            if row.note:
                found.append(f"{heading(row.label)}: {row.note}")
            elif row.verdict == NOT_SETTLED:
                found.append(told[f"part:{row.key}"].text)
        return tuple(found)

    @property
    def changed(self) -> tuple[str, ...]:
        """Keys of parts that are said to be changed, or would be if that were settled."""
        return tuple(
            row.key
            for row in self.rows
            if row.verdict in CHANGED
            or (row.verdict == NOT_SETTLED and row.key in self.found_changed)
        )

    def data(self) -> dict[str, Any]:
        """Words and figures as plain values, by part; the date as on the first page."""
        return {
            "date": {
                "headline": self.dated.headline,
                "note": self.dated.headline_note,
                "sentence": self.dated.answer.text,
            },
            "parts": {
                row.key: {
                    "said": row.said,
                    "verdict": row.verdict,
                    "word": row.word,
                    "after": row.probability,
                    "before": row.prior,
                    "least": row.least,
                    "most": row.most,
                    "ratio": row.ratio,
                    "from_even_odds": row.even,
                }
                for row in self.rows
            },
        }


def what_is_said(
    state: DossierState,
    tree: PartsTree,
    names: FeatureNames,
    finding: Mapping[str, Any],
    varied: Mapping[str, Any] | None,
) -> Said:
    """Say what a finding comes down to.

    Parameters
    ----------
    finding, varied
        JSON forms of the date finding and of the sensitivity finding of one state; without the
        second no word was tried, which only a finding made by other hands may come to.
    """
    dated = date_section(state, tree, names, finding)
    rows, told = part_section(state, tree, names, finding)
    found_changed = frozenset(row.key for row in rows if row.verdict in CHANGED)
    if varied is not None:
        wider = [
            key.removeprefix("part:")
            for key, one in varied["unsettled"].items()
            if one.get("wider")
        ]
        if wider:
            rows, told = part_section(state, tree, names, finding, wider)
        unsettled = Unsettled(varied, state, tree, names)
        rows, told = unsettled.parts(rows, told)
        dated = unsettled.dated(dated, finding)
    computed = {one.id: one for one in told}
    rows, told = with_chosen_words(rows, told, choices_of(state))
    return Said(dated, rows, told, computed, found_changed)
