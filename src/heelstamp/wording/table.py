"""Every sentence a paper can hold, gathered from the modules that write them."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules
from typing import Any

import heelstamp.wording
from heelstamp.errors import InputError
from heelstamp.wording.sentences import Sentence

SUBJECTS = tuple(
    import_module(f"heelstamp.wording.{one.name}")
    for one in iter_modules(heelstamp.wording.__path__)
    if one.name.startswith("about_")
)


def all_sentences() -> dict[str, Sentence[Any]]:
    """Return the sentences by id.

    Raises
    ------
    InputError
        Two sentences have one id.
    """
    found: dict[str, Sentence[Any]] = {}
    for module in SUBJECTS:
        for one in vars(module).values():
            if isinstance(one, Sentence) and found.setdefault(one.id, one) is not one:
                raise InputError("two sentences have one id", received=one.id)
    return found
