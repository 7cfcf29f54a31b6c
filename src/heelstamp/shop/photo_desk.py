"""Photographs of a dossier against the plan: care on arrival, and what is still missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.shop.folder import open_shop

if TYPE_CHECKING:
    from heelstamp.casework.lamp import LampLog
    from heelstamp.casework.photo_care import PhotoCare
    from heelstamp.casework.photo_plan import Missing


def care_of_photograph(
    data: bytes, name: str, body: Mapping[str, Any], *, grey_row: Sequence[float] | None = None
) -> PhotoCare:
    """Measure a photograph and judge it against the slot and light of its entry.

    Raises
    ------
    InputError
        Not a photograph, or no grey patches where they were said to be.
    """
    from heelstamp.casework.photo_care import care_of
    from heelstamp.media.decoding import measure_photograph
    from heelstamp.reference.photo_plan import load_photo_plan

    measures = measure_photograph(data, name, grey_row=grey_row)
    light = str(body.get("light", "visible"))
    slot = load_photo_plan().slot_of(str(body.get("slot", "")), light)
    return care_of(measures, light=light, slot=slot)


def filed(body: Mapping[str, Any]) -> dict[str, Any]:
    """Give a photograph's entry with part and light of its slot, where it says neither."""
    from heelstamp.reference.photo_plan import load_photo_plan

    return load_photo_plan().filed(body)


def missing_of(tag: str, shop: Path, *, before: str | None = None) -> tuple[Missing, ...]:
    """Give the slots of the plan without their frames; only those that *before* would end.

    Raises
    ------
    InputError
        No such dossier, or no such act in the plan.
    """
    from heelstamp.casework.dossier import state_of
    from heelstamp.casework.photo_plan import missing_before, missing_slots
    from heelstamp.reference.photo_plan import load_photo_plan

    with open_shop(shop) as opened:
        state = state_of(opened, tag)
        tree = opened.tree_for(state.instrument.kind)
    plan = load_photo_plan()
    if before is None:
        return missing_slots(state, plan, tree)
    return missing_before(before, state, plan, tree)


def lamp_of(tag: str, shop: Path) -> LampLog:
    """Give the lamp log of a dossier.

    Raises
    ------
    InputError
        No such dossier, or no irradiance was entered.
    """
    from heelstamp.casework.dossier import state_of
    from heelstamp.casework.lamp import lamp_log

    with open_shop(shop) as opened:
        return lamp_log(state_of(opened, tag))
