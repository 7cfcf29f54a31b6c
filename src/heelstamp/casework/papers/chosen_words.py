"""Words that an examiner chose, entered with a reason that is printed, honoured by the report.

The last that stands counts. A choice is held against what is computed now: one that has
become a raising without a reason, or whose statement has no such word any more, has no effect.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.catalogue import DossierState, WordingChoice
from heelstamp.wording import Statement
from heelstamp.wording.about_choice import (
    UNEXPLAINED,
    allowed,
    chosen_word,
    finish_left_open,
    part_left_open,
)
from heelstamp.wording.strength import NOT_DETERMINED

FINISH = "finish"


@dataclass(frozen=True, slots=True)
class Choice:
    """A word, and why."""

    word: str
    reason: str


def choices_of(state: DossierState) -> dict[str, Choice]:
    """The choices by id of the statement."""
    return {one.sentence: Choice(one.word, one.reason) for one in state.of(WordingChoice).values()}


def choice_body(id_: str, statement: str, word: str, reason: str) -> dict[str, str]:
    """The body of the entry that keeps a choice."""
    return {"id": id_, "sentence": statement, "word": word, "reason": reason.strip() or UNEXPLAINED}


def with_chosen_words(
    rows: Sequence[PartRow], said: Sequence[Statement], choices: Mapping[str, Choice]
) -> tuple[tuple[PartRow, ...], tuple[Statement, ...]]:
    """Rows and statements about parts with the words that were chosen."""
    told = {one.id: one for one in said}
    changed: list[PartRow] = []
    for row in rows:
        id_ = f"part:{row.key}"
        statement, choice = told.get(id_), choices.get(id_)
        if statement is None or choice is None or not _counts(statement, choice):
            changed.append(row)
        elif choice.word == NOT_DETERMINED:
            say = partial(part_left_open, id_, statement.grounds, part=row.label)
            if row.key == FINISH:
                say = partial(finish_left_open, id_, statement.grounds)
            told[id_] = say(
                reason=choice.reason, verdict=row.said, posterior=row.probability, prior=row.prior
            )
            changed.append(replace(row, verdict="not determined", word=""))
        else:
            told[id_] = chosen_word(statement, choice.word, choice.reason)
            changed.append(replace(row, word=choice.word))
    return tuple(changed), tuple(told.values())


def _counts(statement: Statement, choice: Choice) -> bool:
    """Whether a choice says something else than was computed, and may."""
    other = choice.word != statement.strength
    return other and allowed(statement.strength, choice.word, choice.reason)
