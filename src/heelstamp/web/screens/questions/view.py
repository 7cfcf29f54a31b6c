"""What Questions shows: the usual questions, and an answer with what was answered before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heelstamp.casework.buyer_questions import (
    Answer,
    Logged,
    Usual,
    answer,
    answered,
    find_question,
)
from heelstamp.casework.papers.document import ReportDocument
from heelstamp.catalogue import PartsTree
from heelstamp.reference.counter_questions import load_questions
from heelstamp.shop.reports import Told
from heelstamp.shop.subjects import Subject


@dataclass(frozen=True, slots=True)
class AnswerView:
    """An answer as it is shown.

    Attributes
    ----------
    ask
        What a form sends to ask the same again: the id of a usual question, else the words.
    before
        What was answered last, or None; *same* when it was the same.
    source
        Id in the dossier of what the buyer's copy names otherwise.
    money
        Whether the page of the price answers.
    """

    answer: Answer
    ask: str
    before: Logged | None
    same: bool
    source: Mapping[str, str]
    money: bool = False


def usual_questions() -> tuple[Usual, ...]:
    """Return the usual questions."""
    return load_questions()


def question_named(ask: str, tree: PartsTree) -> Usual:
    """Return the question of this id or these words."""
    named = [one for one in load_questions() if ask in (one.id, one.text)]
    return named[0] if named else find_question(ask, load_questions(), tree)


def answer_view(ask: str, subject: Subject, told: Told, document: ReportDocument) -> AnswerView:
    """Answer a question from the buyer's copy of the report, and the record it is made of."""
    question = question_named(ask, subject.tree)
    given = answer(question, told.subject.state, document)
    before = answered(subject.state, question.id)
    usual = question.id in {one.id for one in load_questions()}
    same = before is not None and before.told == " ".join(one.text for one in given.lines)
    return AnswerView(
        given, question.id if usual else ask, before, same, told.source, question.money
    )
