"""Every sentence a paper can hold, gathered from the modules that write them."""

from __future__ import annotations

from typing import Any

from heelstamp.errors import InputError
from heelstamp.wording import (
    about_census,
    about_choice,
    about_clearance,
    about_control_noise,
    about_dates,
    about_doubts,
    about_electrics,
    about_finish,
    about_inspections,
    about_lamp,
    about_parts,
    about_price,
    about_record,
    about_setup,
    about_unsettled,
)
from heelstamp.wording.sentences import Sentence

SUBJECTS = (
    about_census,
    about_choice,
    about_clearance,
    about_control_noise,
    about_dates,
    about_doubts,
    about_electrics,
    about_finish,
    about_inspections,
    about_lamp,
    about_parts,
    about_price,
    about_record,
    about_setup,
    about_unsettled,
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
