"""The photo plan that comes with the program."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from heelstamp.casework.photo_plan import PhotoPlan, parse_photo_plan

FILE = "photo_plan.toml"


@cache
def load_photo_plan() -> PhotoPlan:
    """The bundled plan (``photo_plan.toml``: common practice, no source)."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return parse_photo_plan(tomllib.loads(text), where=FILE)
