"""An examiner's own word in place of the computed one: weaker freely, stronger with a reason.

Rules 3 and 4: figures and prior stay as computed, and the sentence says that the word was chosen.
Only a word of probability can be chosen. Where nothing was determined there is no account to which
a stronger word could be given, so there is nothing to raise.
"""

from __future__ import annotations

from dataclasses import replace

from heelstamp.errors import InputError
from heelstamp.wording.banned import refuse_banned
from heelstamp.wording.sentences import Grounds, Statement, agreement, write
from heelstamp.wording.strength import NOT_DETERMINED

WORDS: tuple[str, ...] = (NOT_DETERMINED, "probably", "very probably")
"""Words of probability, the weakest first."""
UNEXPLAINED = "a weaker word was preferred"
"""Reason that stands when none was given; it can only lower."""


def choosable(statement: Statement) -> tuple[str, ...]:
    """Give the words that may stand in a statement; empty when there is nothing to choose."""
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


def chosen_word(statement: Statement, wanted: str, reason: str) -> Statement:
    """Give a statement with another word of probability, and the choice told."""
    side = "stronger" if WORDS.index(wanted) > WORDS.index(statement.strength) else "weaker"
    grounds = Grounds(statement.rests_on, statement.frames, statement.not_examined)
    if reason == UNEXPLAINED:
        clause = write("weaker word chosen", statement.id, grounds)
    else:
        clause = write("word chosen", statement.id, grounds, side=side, reason=_clause(reason))
    text = statement.text.replace(statement.strength, wanted, 1)
    return replace(statement, text=f"{text} {clause.text}", strength=wanted)


def left_open(
    statement: Statement,
    reason: str,
    *,
    part: str,
    verdict: str,
    posterior: str,
    prior: str,
    coating: bool = False,
) -> Statement:
    """Give the statement that a part's state is left open by choice, with what was computed."""
    grounds = Grounds(statement.rests_on, statement.frames, statement.not_examined)
    gaps = {} if coating else {"part": part, **agreement(part)}
    return write(
        "finish left open" if coating else "part left open",
        statement.id,
        grounds,
        strength=NOT_DETERMINED,
        verdict=verdict,
        posterior=posterior,
        prior=prior,
        reason=_clause(reason),
        **gaps,
    )


def _clause(reason: str) -> str:
    return reason.strip().rstrip(".")
