"""An examiner's own word in place of the computed one: weaker freely, stronger with a reason.

Rules 3 and 4: figures and prior stay as computed, and the sentence says that the word was chosen.
Only a word of probability can be chosen. Where nothing was determined there is no account to which
a stronger word could be given, so there is nothing to raise.
"""

from __future__ import annotations

from dataclasses import replace

from heelstamp.errors import InputError
from heelstamp.wording.about_parts import with_figures
from heelstamp.wording.banned import refuse_banned
from heelstamp.wording.sentences import Statement, Told, agreement, sentence
from heelstamp.wording.strength import NOT_DETERMINED

WORDS: tuple[str, ...] = (NOT_DETERMINED, "probably", "very probably")
"""Words of probability, the weakest first."""
UNEXPLAINED = "a weaker word was preferred"
"""Reason that stands when none was given; it can only lower."""


def choosable(statement: Statement) -> tuple[str, ...]:
    """Return the words that may stand in a statement; empty when there is nothing to choose."""
    return WORDS if statement.strength in WORDS[1:] else ()


def allowed(computed: str, wanted: str, reason: str) -> bool:
    """Whether *wanted* may stand for *computed*: weaker always, stronger with a reason."""
    if computed not in WORDS[1:] or wanted not in WORDS:
        return False
    raised = WORDS.index(wanted) > WORDS.index(computed)
    return not raised or reason.strip() not in ("", UNEXPLAINED)


def check_choice(computed: str, wanted: str, reason: str, *, where: str) -> None:
    """Refuse a word that may not stand, or a reason that no paper may carry.

    Raises
    ------
    InputError
        Another word than those of probability, or a stronger one without a reason.
    """
    if not allowed(computed, wanted, reason):
        raise InputError(
            "a stronger word than was computed needs a reason"
            if wanted in WORDS and computed in WORDS[1:]
            else "there is no such word to choose here",
            where=where,
            received=f"{wanted} instead of {computed}",
            remedy="Give the reason, which is printed, or choose a weaker word.",
        )
    refuse_banned(reason, where=f"{where}, reason")


@sentence("word chosen", "inferred", 4)
def word_chosen(*, side: str, reason: str) -> str:
    return f"The examiner chose the {side} word: {_clause(reason)}."


@sentence("weaker word chosen", "inferred", 4)
def weaker_word_chosen() -> str:
    return "The examiner preferred the weaker word."


@sentence("part left open", "inferred", 4)
def part_left_open(*, part: str, reason: str, verdict: str, posterior: str, prior: str) -> Told:
    """A part's state left open by choice, with the verdict and figures that were computed."""
    return with_figures(
        lambda figures: (
            f"Whether the {part} {agreement(part).was} fitted first is left not determined by "
            f"choice of the examiner ({_clause(reason)}). The tables give {verdict}{figures}."
        ),
        posterior,
        prior,
        NOT_DETERMINED,
    )


@sentence("finish left open", "inferred", 6)
def finish_left_open(*, reason: str, verdict: str, posterior: str, prior: str) -> Told:
    return with_figures(
        lambda figures: (
            "The history of the finish is left not determined by choice of the examiner "
            f"({_clause(reason)}). The tables give {verdict}{figures}."
        ),
        posterior,
        prior,
        NOT_DETERMINED,
    )


def chosen_word(statement: Statement, wanted: str, reason: str) -> Statement:
    """Return a statement with another word of probability, and the choice told."""
    side = "stronger" if WORDS.index(wanted) > WORDS.index(statement.strength) else "weaker"
    if reason == UNEXPLAINED:
        clause = weaker_word_chosen.say()
    else:
        clause = word_chosen.say(side=side, reason=reason)
    text, plain = (
        f"{one.replace(statement.strength, wanted, 1)} {clause}" if one else ""
        for one in (statement.text, statement.plain)
    )
    return replace(statement, text=text, plain=plain, strength=wanted)


def _clause(reason: str) -> str:
    return reason.strip().rstrip(".")
