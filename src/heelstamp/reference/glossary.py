"""The terms and the screens' lines that come with the program."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources

from heelstamp.casework.glossary import Term, parse_glossary, parse_lines

GLOSSARY, LINES = "glossary.toml", "screen_lines.toml"


@cache
def load_glossary() -> Mapping[str, Term]:
    """The bundled terms by key; each names its source, or that it is common practice."""
    return parse_glossary(_read(GLOSSARY), where=GLOSSARY)


@cache
def load_screen_lines() -> Mapping[str, str]:
    """What each screen is for, by the last word of its address."""
    return parse_lines(_read(LINES), where=LINES)


def _read(name: str) -> dict[str, object]:
    return tomllib.loads((resources.files("heelstamp.reference") / name).read_text("utf-8"))
