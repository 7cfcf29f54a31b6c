"""The counter: a buyer's question answered from the findings, or *not examined* and made a task.

Answers are sentences of the buyer's own copy of the report, so that nothing is told across the
counter that the paper would withhold, and the same question gets the same answer until the findings
change. A question is entered as answered, or as a task: to be looked at, then looked at.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.papers.document import ReportDocument
from heelstamp.casework.papers.evidence_section import UNDER_LAMP
from heelstamp.catalogue import DossierState, Exposure, PartsTree, Question
from heelstamp.catalogue.conversion import convert
from heelstamp.errors import InputError
from heelstamp.wording import Statement

QUESTIONS_SCHEMA = "heelstamp/counter-questions/1"
ANSWERED, OPEN, DONE = "answered", "to be looked at", "looked at"
LINES_MAX = 12
PART, GRADE, PLACE = "part:", "grade:", "condition:"
_YEAR = re.compile(r" (?:18|19|20)\d\d ")
_SAYS_NOTHING = frozenset({"part not examined", "part assumed"})


class Usual(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A usual question, and where its answer is looked for; see the file's head."""

    id: str
    text: str
    words: list[str] = []
    acts: list[str] = []
    parts: list[str] = []
    measured: list[str] = []
    about: list[str] = []
    signs: list[str] = []
    grades: list[str] = []
    damage: bool = False
    money: bool = False
    date: bool = False


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: str
    question: list[Usual]


@dataclass(frozen=True, slots=True)
class Answer:
    """What can be said.

    Attributes
    ----------
    lines
        Sentences, each with the frames that show it; empty when nothing was examined.
    own_acts
        Whether acts of this shop were asked for and none is recorded.
    examined
        Whether anything was looked at that bears on the question.
    understood
        Whether it is a usual question, or names a part.
    """

    question: Usual
    lines: tuple[Statement, ...]
    own_acts: str
    examined: bool
    understood: bool = True


@dataclass(frozen=True, slots=True)
class Logged:
    """A question that was answered before, or a task: when, by whom, what."""

    key: str
    text: str
    told: str
    at: str
    by: str


def parse_questions(data: Mapping[str, Any], *, where: str) -> tuple[Usual, ...]:
    """Read the usual questions from plain values.

    Raises
    ------
    InputError
        Another schema, or a field that is unknown, missing or of the wrong kind.
    """
    document = convert(data, _Document, where=where)
    if document.schema != QUESTIONS_SCHEMA:
        raise InputError(
            "not a list of questions this program reads",
            where=f"{where}, field schema",
            received=document.schema,
            remedy=f'Write schema = "{QUESTIONS_SCHEMA}".',
        )
    return tuple(document.question)


def find_question(asked: str, usual: Sequence[Usual], tree: PartsTree) -> Usual:
    """The usual question that a typed one means, else one about the part it names.

    The question sharing most words wins, a phrase counting its words; of equal ones that of a part
    before that of the date. Nothing shared gives a question of its own that nothing answers.
    """
    plain = f" {_plain(asked)} "
    plain += "year " if _YEAR.search(plain) else ""
    best = max(usual, key=lambda one: (_score(plain, one.words), not one.date), default=None)
    if best is not None and _score(plain, best.words):
        return best
    parts = [
        part.key
        for part in tree
        if any(f" {_plain(name)} " in plain for name in (part.label, part.key.replace("_", " ")))
    ]
    key = "-".join(_plain(asked).split())[:60] or "question"
    return Usual(id=f"{PART}{parts[0]}" if parts else key, text=asked.strip(), parts=parts)


def answer(question: Usual, state: DossierState, document: ReportDocument) -> Answer:
    """Answer from a report.

    Parameters
    ----------
    document
        The copy of the one who asks.
    """
    acts = [one for one in document.acts if _is_act(one, question.acts, state)]
    parts = [
        one
        for one in document.part_statements
        if not question.signs
        and one.id.removeprefix(PART) in question.parts
        and one.template not in _SAYS_NOTHING
    ]
    seen = [one for one in document.seen if _asked_for(one, question, state)]
    measured = [
        one
        for one in document.measured
        if _names(one.text, question.measured) and _was_read(one, state)
    ]
    graded = [
        one
        for one in document.condition
        if one.id.startswith(GRADE) and one.id.removeprefix(GRADE) in question.grades
    ]
    places = [one for one in document.condition if question.damage and one.id.startswith(PLACE)]
    told = [one for one in document.told if _about(one, question.about, state)]
    date = [one for one in document.conclusions if question.date and one.id == "answer:date"]
    lines = (*date, *acts, *graded, *places, *parts, *measured, *told, *seen)[:LINES_MAX]
    none_done = question.acts and not acts
    return Answer(
        question,
        lines,
        "No such act by this shop is recorded." if none_done else "",
        bool(lines),
        bool(question.words or question.parts),
    )


def log_entries(state: DossierState, stamp: EntryStamp, given: Answer) -> list[NewEntry]:
    """The entry that keeps what was answered.

    Raises
    ------
    InputError
        There is no answer to keep.
    """
    if not given.examined:
        raise InputError("not examined", where=given.question.text, remedy="Make it a task.")
    if stamp.id in state.entered:
        return []
    told = " ".join(one.text for one in given.lines)
    return [NewEntry("question", _entry(stamp, given.question, ANSWERED) | {"answer": told})]


def task_entries(
    state: DossierState, stamp: EntryStamp, question: Usual, *, done: bool
) -> list[NewEntry]:
    """The entry that makes a question a task, or ends it; nothing when it stands so.

    Raises
    ------
    InputError
        The question is empty.
    """
    if not question.text.strip():
        raise InputError("no question", remedy="Write what the buyer asks.")
    open_now = any(one.key == question.id for one in open_tasks(state))
    if stamp.id in state.entered or open_now != done:
        return []
    return [NewEntry("question", _entry(stamp, question, DONE if done else OPEN))]


def _entry(stamp: EntryStamp, question: Usual, state: str) -> dict[str, Any]:
    body = {"id": stamp.id, "question": question.id, "asked": question.text, "state": state}
    return body | stamp.late


def open_tasks(state: DossierState) -> tuple[Logged, ...]:
    """The tasks that wait, the oldest first."""
    last = {one.question: one for one in state.of(Question).values() if one.state != ANSWERED}
    return tuple(_logged(state, one) for one in last.values() if one.state == OPEN)


def answered(state: DossierState, question: str) -> Logged | None:
    """What was last answered to a question."""
    found = state.last(Question, question=question, state=ANSWERED)
    return _logged(state, found) if found is not None else None


def _logged(state: DossierState, one: Question) -> Logged:
    entered = state.entered[one.id]
    return Logged(one.question, one.asked, one.answer or one.state, entered.at, entered.by)


def _is_act(one: Statement, acts: Sequence[str], state: DossierState) -> bool:
    id_ = one.id.removeprefix("act:")
    done = state.treatments.get(id_)
    if done is None:
        return id_ in state.of(Exposure) and not {"*", UNDER_LAMP}.isdisjoint(acts)
    return "*" in acts or done.act in acts


def _asked_for(one: Statement, question: Usual, state: DossierState) -> bool:
    """Whether something seen is of a part that is asked for, and of its signs where some are."""
    seen = state.observations.get(one.id.removeprefix("seen:"))
    if seen is None or seen.part not in question.parts:
        return False
    return not question.signs or seen.subject in question.signs


def _was_read(one: Statement, state: DossierState) -> bool:
    """Whether a value was read on the instrument, as found or at last: no plan, no prediction."""
    found = state.measurements.get(one.id.removeprefix("measured:"))
    return found is None or (found.role == "read" and found.stage != "plan")


def _about(one: Statement, about: Sequence[str], state: DossierState) -> bool:
    told = state.statements.get(one.id.removeprefix("told:"))
    return told is not None and _names(told.about, about)


def _names(text: str, words: Sequence[str]) -> bool:
    plain = f" {_plain(text)} "
    return any(f" {_plain(word)} " in plain for word in words)


def _score(plain: str, words: Sequence[str]) -> int:
    known = dict.fromkeys(_plain(word) for word in words)
    return sum(len(word.split()) for word in known if f" {word} " in plain)


def _plain(text: str) -> str:
    """Letters and digits in lower case, each word in the singular as far as its ending tells."""
    words = "".join(c if c.isalnum() else " " for c in text.casefold()).split()
    return " ".join(map(_singular, words))


def _singular(word: str) -> str:
    """Take the ending of a plural off.

    Examples
    --------
    >>> [_singular(one) for one in ("frets", "batteries", "switches", "brass", "weighs")]
    ['fret', 'battery', 'switch', 'brass', 'weigh']
    """
    if len(word) > 4 and word.endswith("ies"):
        return f"{word[:-3]}y"
    if len(word) > 4 and word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") and word[-2] not in "su" else word


def log_of(state: DossierState) -> tuple[Logged, ...]:
    """Everything that was asked and what was told, the newest first."""
    return tuple(reversed([_logged(state, one) for one in state.of(Question).values()]))
