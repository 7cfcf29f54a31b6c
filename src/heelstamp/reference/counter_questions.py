"""The usual questions that come with the program."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from heelstamp.casework.buyer_questions import Usual, parse_questions

FILE = "counter_questions.toml"


@cache
def load_questions() -> tuple[Usual, ...]:
    """The bundled questions (``counter_questions.toml``: common practice, no source)."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return parse_questions(tomllib.loads(text), where=FILE)
