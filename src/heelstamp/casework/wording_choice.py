"""The report as a list of sentences, each with what it stands on and the words that may be chosen.

What was computed is kept apart from what was chosen, so that a choice can be seen and taken back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.papers.chosen_words import Choice, choice_body
from heelstamp.casework.papers.document import ReportDocument
from heelstamp.catalogue import DossierState, WordingChoice
from heelstamp.errors import InputError
from heelstamp.wording import Statement
from heelstamp.wording.about_choice import check_choice, choosable


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence: what is printed, what was computed, the words to choose from, the choice."""

    statement: Statement
    computed: str
    words: tuple[str, ...]
    choice: Choice | None


@dataclass(frozen=True, slots=True)
class Group:
    """Sentences under one heading of the report."""

    title: str
    sentences: tuple[Sentence, ...]


def groups(
    document: ReportDocument, computed: Mapping[str, Statement], choices: Mapping[str, Choice]
) -> tuple[Group, ...]:
    """All sentences of a report, in the order of print.

    Parameters
    ----------
    document
        As it would be issued.
    computed
        Statements about parts by id, before any choice.
    choices
        Words that were chosen.
    """
    sections: Sequence[tuple[str, tuple[Statement, ...]]] = (
        ("On the first page", document.conclusions),
        ("State of the parts", document.part_statements),
        ("The date", document.inferred),
        ("What does not fit", document.doubts),
        ("What was done", document.acts),
        ("Seen", document.seen),
        ("Measured", document.measured),
        ("Told", document.told),
        ("Opinion", document.opinions),
    )
    found = []
    for title, statements in sections:
        rows = tuple(_sentence(one, computed, choices) for one in statements)
        if rows:
            found.append(Group(title, rows))
    return tuple(found)


def word_entries(
    state: DossierState,
    stamp: EntryStamp,
    computed: Mapping[str, Statement],
    *,
    statement: str,
    word: str,
    reason: str,
) -> list[NewEntry]:
    """The entry that keeps a word, or the withdrawal of one that is the computed one again.

    Raises
    ------
    InputError
        No such sentence, no such word, a stronger word without a reason, banned words.
    """
    before = computed.get(statement)
    if before is None:
        raise InputError(
            "no sentence whose word can be chosen", received=statement, remedy="See Words."
        )
    if stamp.id in state.entered:
        return []
    if word == before.strength:
        standing = [one.id for one in state.of(WordingChoice).values() if one.sentence == statement]
        return [
            NewEntry(
                "correction",
                {
                    "id": stamp.id if number == 0 else stamp.second(str(number)),
                    "corrects": one,
                    "reason": "back to the computed word",
                    "replacement": None,
                    **stamp.late,
                },
            )
            for number, one in enumerate(standing)
        ]
    check_choice(before.strength, word, reason, where=statement)
    return [NewEntry("wording", {**choice_body(stamp.id, statement, word, reason), **stamp.late})]


def _sentence(
    one: Statement, computed: Mapping[str, Statement], choices: Mapping[str, Choice]
) -> Sentence:
    before = computed.get(one.id)
    if before is None:
        return Sentence(one, one.strength, (), None)
    return Sentence(one, before.strength, choosable(before), choices.get(one.id))
