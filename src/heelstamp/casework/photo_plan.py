"""The photo plan: which frames, in which order, because each later act ends an earlier chance.

The plan is a document of schema ``heelstamp/photo-plan/1`` (``reference/photo_plan.toml``): common
practice of the trade, no source. A slot is filled by a photograph whose entry names it, or any of
its other names; ``name-1``, ``name-2`` count as frames of ``name``. What is missing is told, never
forced: an instrument may be closed with a gap, and the gap is then *not looked*.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import msgspec

from heelstamp.archive import digest_of
from heelstamp.casework.sale.blocks import PROMISED, standing_of
from heelstamp.catalogue import DossierState, PartsTree, Photograph
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.catalogue.entries import Light
from heelstamp.errors import InputError

PHOTO_PLAN_SCHEMA = "heelstamp/photo-plan/1"
AGREED = "agreed with a buyer"
"""What a stage may come after besides acts: a sale that is agreed and not handed over."""


class Slot(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One place in the plan.

    Attributes
    ----------
    id, also
        Names by which a photograph's entry fills it.
    stage
        Stage at which it can be taken.
    ends
        Acts after which it can no longer be taken as it was.
    lost
        What is lost then, one clause.
    part
        Part it belongs to; the slot falls away where the instrument has none.
    light, frames
        In which light, and how many frames are wanted.
    covers_mm, px_per_mm
        Longer side of what is in the frame, and how fine it must be; None where it does not matter.
    """

    id: str
    label: str
    stage: str
    ends: tuple[str, ...]
    lost: str
    also: tuple[str, ...] = ()
    part: str | None = None
    light: Light = "visible"
    frames: int = 1
    covers_mm: float | None = None
    px_per_mm: float | None = None

    def holds(self, photograph: Photograph) -> bool:
        """Whether a photograph belongs here."""
        names = (self.id, *self.also)
        return photograph.light == self.light and any(
            photograph.slot == name or _numbered(photograph.slot, name) for name in names
        )


class Stage(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A state of the instrument: ``after`` are the acts of which one must have been done."""

    id: str
    label: str
    after: tuple[str, ...] = ()


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: str
    stage: list[Stage]
    slot: list[Slot]


@dataclass(frozen=True)
class PhotoPlan:
    """Stages and slots in their order, and the digest of the document they came from."""

    stages: tuple[Stage, ...]
    slots: tuple[Slot, ...]
    digest: str

    def slot_of(self, name: str, light: str = "visible") -> Slot | None:
        """The slot that a photograph of this slot name and light fills."""
        for slot in self.slots:
            for own in (slot.id, *slot.also):
                if slot.light == light and (name == own or _numbered(name, own)):
                    return slot
        return None

    def filed(self, body: Mapping[str, Any]) -> dict[str, Any]:
        """A photograph's entry with part and light of its slot, where it says neither.

        Parameters
        ----------
        body
            As typed; a slot name that the plan has in two lights, or not at all, adds nothing.
        """
        name = str(body.get("slot", ""))
        lights = {slot.light for slot in self.slots}
        fitting = [one for one in (self.slot_of(name, light) for light in lights) if one]
        if len(fitting) != 1:
            return dict(body)
        part = {} if fitting[0].part is None else {"part": fitting[0].part}
        return {**part, "light": fitting[0].light, **body}

    @property
    def acts(self) -> tuple[str, ...]:
        """Acts that end a chance, in the order of the plan."""
        return tuple(dict.fromkeys(act for slot in self.slots for act in slot.ends))


@dataclass(frozen=True, slots=True)
class Missing:
    """A slot with too few frames.

    Attributes
    ----------
    have
        Frames there are.
    when
        ``now``, ``later`` (its stage is not reached), or ``too late`` (an act has ended it).
    """

    slot: Slot
    have: int
    when: str


def parse_photo_plan(data: Mapping[str, Any], *, where: str) -> PhotoPlan:
    """Read a photo plan from plain values.

    Raises
    ------
    InputError
        Another schema, unknown or missing fields, a slot of an unknown stage, a name twice.
    """
    document = convert(data, _Document, where=where)
    if document.schema != PHOTO_PLAN_SCHEMA:
        raise InputError(
            "not a photo plan this program reads",
            where=f"{where}, field schema",
            received=document.schema,
            remedy=f'Write schema = "{PHOTO_PLAN_SCHEMA}".',
        )
    stages = {stage.id for stage in document.stage}
    taken: set[tuple[str, str]] = set()
    for slot in document.slot:
        if slot.stage not in stages:
            raise InputError(
                "the slot has no such stage",
                where=f"{where}, slot {slot.id}",
                received=slot.stage,
                remedy=nearest(slot.stage, stages),
            )
        for name in (slot.id, *slot.also):
            if (name, slot.light) in taken:
                raise InputError(
                    "two slots of one name",
                    where=f"{where}, slot {slot.id}",
                    received=name,
                    remedy="Give each slot its own names.",
                )
            taken.add((name, slot.light))
    return PhotoPlan(tuple(document.stage), tuple(document.slot), digest_of(dict(data)))


def missing_slots(state: DossierState, plan: PhotoPlan, tree: PartsTree) -> tuple[Missing, ...]:
    """The slots that want frames, in the order of the plan.

    Parameters
    ----------
    tree
        Parts of the instrument's kind: slots of other parts fall away.
    """
    done = {treatment.act for treatment in state.treatments.values()}
    if standing_of(state).state in PROMISED:
        done.add(AGREED)
    stages = {stage.id: stage for stage in plan.stages}
    found = []
    for slot in plan.slots:
        if slot.part is not None and slot.part not in tree:
            continue
        have = sum(slot.holds(photograph) for photograph in state.photographs.values())
        if have >= slot.frames:
            continue
        after = stages[slot.stage].after
        if done & set(slot.ends):
            when = "too late"
        else:
            when = "later" if after and not done & set(after) else "now"
        found.append(Missing(slot, have, when))
    return tuple(found)


def missing_before(
    act: str, state: DossierState, plan: PhotoPlan, tree: PartsTree
) -> tuple[Missing, ...]:
    """The slots that can be filled now and no longer after *act*, as ``refit guard``.

    Raises
    ------
    InputError
        The plan knows no such act.
    """
    if act not in plan.acts:
        raise InputError(
            "no act of the photo plan",
            where="--before",
            received=act,
            remedy=nearest(act, plan.acts),
        )
    return tuple(
        one
        for one in missing_slots(state, plan, tree)
        if act in one.slot.ends and one.when == "now"
    )


def _numbered(slot: str, name: str) -> bool:
    return slot.startswith(f"{name}-") and slot[len(name) + 1 :].isdigit()
