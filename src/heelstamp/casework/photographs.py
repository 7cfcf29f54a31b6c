"""Frames as the bench shows them: tiles, what is missing and until when, how a file is filed.

A photograph is filed by the slot it is taken for; a file whose name is a slot's name goes to that
slot by itself, so that a set copied from a camera card may be dropped at once. Part and light
follow from the plan. Marking a frame private is a correction of its entry: both stay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.photo_plan import Missing, PhotoPlan, Slot
from heelstamp.catalogue import DossierState, PartsTree, body_data
from heelstamp.errors import InputError

WHENS: Mapping[str, str] = {
    "now": "Can be taken now",
    "later": "When that is open",
    "too late": "Too late: not looked at",
}
LIGHTS = ("visible", "raking", "UV-A", "infrared", "transmitted")


@dataclass(frozen=True, slots=True)
class Tile:
    """One frame: its id, what it shows, and whether it stays with the shop."""

    id: str
    shows: str
    private: bool
    simulated: bool


def tiles(state: DossierState, tree: PartsTree, plan: PhotoPlan) -> tuple[Tile, ...]:
    """The frames, the newest first."""
    return tuple(tile(state, tree, plan, id_) for id_ in reversed(list(state.photographs)))


def tile(state: DossierState, tree: PartsTree, plan: PhotoPlan, frame: str) -> Tile:
    """One frame.

    Raises
    ------
    InputError
        There is no such frame.
    """
    one = state.photographs.get(frame)
    if one is None:
        raise InputError("no such frame", received=frame, remedy="See the frames of the dossier.")
    slot = plan.slot_of(one.slot, one.light)
    label = slot.label if slot else one.slot.replace("-", " ")
    part = tree[one.part].label if one.part and one.part in tree else ""
    words = label or part or "whole instrument"
    light = "" if one.light in ("visible", "raking") else f", {one.light}"
    shows = words if light.strip(", ") in words else words + light
    return Tile(one.id, shows, one.private, one.simulated)


def by_when(missing: Sequence[Missing]) -> dict[str, list[Missing]]:
    """Group what is missing by when it can be taken, in the order of `WHENS`."""
    found = {when: [one for one in missing if one.when == when] for when in WHENS}
    return {when: rows for when, rows in found.items() if rows}


def slots_by_stage(plan: PhotoPlan, tree: PartsTree) -> dict[str, list[Slot]]:
    """The slots of this kind of instrument by the label of their stage."""
    found: dict[str, list[Slot]] = {}
    for stage in plan.stages:
        rows = [
            slot
            for slot in plan.slots
            if slot.stage == stage.id and (slot.part is None or slot.part in tree)
        ]
        if rows:
            found[stage.label] = rows
    return found


def details_of(
    plan: PhotoPlan,
    stamp: EntryStamp,
    *,
    name: str,
    slot: str,
    part: str,
    light: str,
    private: bool,
    note: str,
) -> dict[str, Any]:
    """What is said of a photograph before its file is read.

    Parameters
    ----------
    name
        File name as the device told it; its folder is dropped.
    slot
        Slot chosen; where none was, the file's name decides if it is a slot's.
    """
    plain = PurePath(name.replace("\\", "/")).name.strip()
    plain = "".join(char for char in plain if char.isprintable())[-100:] or "photograph"
    stem = PurePath(plain).stem.lower()
    chosen = slot.strip() or (stem if any(plan.slot_of(stem, one) for one in LIGHTS) else "")
    body: dict[str, Any] = {"id": stamp.id, "name": plain, "slot": chosen, "private": private}
    if part:
        body["part"] = part
    if light:
        body["light"] = light
    if note.strip():
        body["note"] = note.strip()
    return plan.filed(body | stamp.late)


def privacy_entries(
    state: DossierState, stamp: EntryStamp, frame: str, private: bool
) -> list[NewEntry]:
    """The correction that makes a frame private, or no longer.

    Raises
    ------
    InputError
        There is no such frame.
    """
    one = state.photographs.get(frame)
    if one is None:
        raise InputError("no such frame", received=frame, remedy="See the frames of the dossier.")
    if one.private == private or stamp.id in state.entered:
        return []
    reason = "kept by the shop from now on" if private else "may be shown from now on"
    replacement = {**body_data(one), "private": private}
    return [
        NewEntry(
            "correction",
            {
                "id": stamp.id,
                "corrects": frame,
                "reason": reason,
                "replacement": replacement,
                **stamp.late,
            },
        )
    ]
