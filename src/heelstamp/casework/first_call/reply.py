"""An owner's reply in words: answers and names of frames, one a line, as the first message asks.

A line is ``word: answer``. The word is the key or the beginning of a question, or the name of a
picture that came with it; the answer of a picture is the frame's name. Lines that are quoted
(``>``) and lines of another form are left alone. A picture of which nothing is said may say it by
its own name: ``head-front.jpg``, ``head-front-2.jpg``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePath

from heelstamp.casework.first_call.asked import Asked, Question
from heelstamp.casework.first_call.record import LONGEST_ANSWER

_LONGEST_WORD = 120
"""Characters of the longest name of a question, a frame or a picture."""


def answers_in(text: str, questions: Sequence[Question]) -> dict[str, str]:
    """Answers by key of the question; a question answered twice has the last answer."""
    found: dict[str, str] = {}
    for word, answer in _lines(text):
        key = _question(word, questions)
        if key:
            found[key] = answer[:LONGEST_ANSWER]
    return found


def frames_in(text: str, names: Sequence[str], asked: Asked) -> dict[str, str]:
    """Frame of each picture that is named in a text, by the picture's name."""
    known = {one.casefold(): one for one in names}
    found = {}
    for word, answer in _lines(text):
        name = known.get(word.casefold())
        slot = frame_named(answer, asked)
        if name is not None and slot:
            found[name] = slot
    return found


def frame_of_name(name: str, asked: Asked) -> str:
    """Frame that a file's own name tells; empty where it tells none."""
    stem = re.sub(r"[-_ ]?\d+$", "", PurePath(name).stem.strip())
    return frame_named(stem, asked)


def frame_named(word: str, asked: Asked) -> str:
    """Frame of a word, by slot or by label, in any case; empty where it is none."""
    if len(word) > _LONGEST_WORD:
        return ""
    plain = _plain(word)
    for one in asked.frames:
        if plain in (_plain(one.slot), _plain(one.label)):
            return one.slot
    return ""


def _lines(text: str) -> list[tuple[str, str]]:
    found = []
    for line in text.splitlines():
        word, _, answer = (one.strip() for one in line.partition(":"))
        if 0 < len(word) <= _LONGEST_WORD and answer and not word.startswith(">"):
            found.append((word, " ".join(answer.split())))
    return found


def _question(word: str, questions: Sequence[Question]) -> str:
    plain = _plain(word)
    for one in questions:
        if plain in (_plain(one.key), _plain(one.label)):
            return one.key
    return ""


def _plain(word: str) -> str:
    bare = re.sub(r"\([^)]*\)", " ", word)
    return " ".join(re.sub(r"[-_.?,]", " ", bare).casefold().split())
