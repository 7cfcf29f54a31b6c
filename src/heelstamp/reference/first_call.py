"""What is asked of an owner before the instrument comes: the bundled document."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from heelstamp.casework.first_call.asked import Asked, parse_asked

FILE = "first_call.toml"


@cache
def load_first_call() -> Asked:
    """The bundled document (``first_call.toml``: common practice, no source)."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return parse_asked(tomllib.loads(text), where=FILE)
