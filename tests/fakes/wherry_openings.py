"""The invented guitar S10350 and its model as the program has them, with openings."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from fakes.wherry_examinations import observed, translated, wherry
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, DatingModel, Evidence

DEFAULTS = Path(__file__).parents[1] / "published" / "openings_cases" / "defaults.json"


LATER = ("heads-bridge", "seat-nut", "slots-frets")
"""Looks that came to the example after its figures were worked out."""


@cache
def defaults() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(DEFAULTS.read_text("utf-8"))
    return data


@cache
def openings_model() -> DatingModel:
    return dating_model(wherry())


@cache
def first_written() -> CompiledModel:
    """The tables for which the figures were worked out, before instruments put together were told
    apart from those that were worked over."""
    model = openings_model()
    (together,) = model.assembled
    shares = dict(model.history)
    shares["worked over"] += shares.pop(together)
    return CompiledModel(replace(model, history=(*shares.items(), (together, 0.0))))


@cache
def compiled_openings() -> CompiledModel:
    return CompiledModel(openings_model())


def looks(*ids: str, without: tuple[str, ...] = ()) -> Evidence:
    """Evidence of the example's observations *ids* (none: all that the figures rest on)."""
    seen = [one for one in observed("wherry-s10350") if one["id"] not in LATER]
    return tuple(
        item
        for id_, one in translated(seen).items()
        if (not ids or id_ in ids) and id_ not in without
        for item in one.evidence
    )
