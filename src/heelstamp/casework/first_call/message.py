"""The first message to an owner: what to leave alone, the ten pictures, the questions. Plain text.

It says nothing of date or price, and nothing that would tell the owner which answer is wished.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.casework.first_call.asked import Asked, Question
from heelstamp.casework.first_call.record import FrameSent

OPENING = (
    "Thank you for asking us. Before anything else, please leave the instrument as it is: what "
    "looks like dirt or an old string is often what tells its age."
)
REPLY = (
    "Answer in lines of this form, each word before the colon left as it is. Write nothing where "
    "you do not know."
)
NAMES = (
    "Name each picture by the word in front of it, or write its name and that word in a line: "
    "“IMG_0031.jpg: head-front”."
)
BY_LINK = "Open this link on the telephone that takes the pictures; it opens once, until {until}:"


def first_message(
    asked: Asked,
    questions: Sequence[Question],
    frames: Sequence[FrameSent],
    *,
    link: str = "",
    until: str = "",
) -> str:
    """Write the message; frames that can be used already are not asked for again.

    Parameters
    ----------
    link, until
        A link to send by, and its last day; without one, the reply is a mail.
    """
    parts = [OPENING, _list(asked.leave)]
    if link:
        parts.append(f"{BY_LINK.format(until=until)}\n{link}")
    wanted = [one for one in frames if not one.done]
    if wanted:
        parts.append("Pictures that we ask for, in this order:")
        parts.append(_list([_frame(one) for one in wanted]))
        parts.append(_list(asked.how))
        if not link:
            parts.append(NAMES)
    if questions and not link:
        parts.append(REPLY)
        parts.append("\n".join(_question(one) for one in questions))
    return "\n\n".join(parts) + "\n"


def _list(rows: Sequence[str]) -> str:
    return "\n".join(f"- {one}" for one in rows)


def _frame(one: FrameSent) -> str:
    text = f"{one.asked.slot}: {one.asked.label}. {one.asked.how}"
    best = one.best
    if best is not None and best.usable.remedies:
        text += f" Please take it again: {' '.join(best.usable.remedies)}"
    return text


def _question(one: Question) -> str:
    told = f" ({', '.join(one.choices)})" if one.choices else ""
    return f"{one.label.rstrip('?')}{told}:"
