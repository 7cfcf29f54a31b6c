"""The invented Wherry's chronology in the short form, whose worlds the simulators draw."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from heelstamp.chronology import Chronology, parse_chronology

NAME = "wherry_short.toml"


def short_document() -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parent / NAME).read_text("utf-8"))


@cache
def short_chronology() -> Chronology:
    return parse_chronology(short_document(), name=NAME)
