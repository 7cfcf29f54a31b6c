"""The bundled document of what may be done before an instrument is sold."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from heelstamp.casework.work_plan.document import WorkActs, parse_work_acts

FILE = "work_acts.toml"


@cache
def load_work_acts() -> WorkActs:
    """The bundled document."""
    text = (resources.files("heelstamp.reference") / FILE).read_text("utf-8")
    return parse_work_acts(tomllib.loads(text), where=FILE)
