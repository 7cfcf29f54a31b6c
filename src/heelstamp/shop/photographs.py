"""Photographs of a dossier: kept once, measured on arrival, copied small, missed by the plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from heelstamp.errors import InputError
from heelstamp.shop.files import entry_named
from heelstamp.shop.folder import now
from heelstamp.shop.opened import OpenShop

if TYPE_CHECKING:
    from heelstamp.casework.photo_care import PhotoCare
    from heelstamp.casework.photo_plan import Missing, PhotoPlan
    from heelstamp.catalogue import Entry, Photograph


class KeptPhotograph(NamedTuple):
    """What to take again of a photograph; its entry, None where it stood already."""

    care: PhotoCare
    entry: Entry | None


def photo_plan() -> PhotoPlan:
    """Return the photo plan that comes with the program."""
    from heelstamp.reference.photo_plan import load_photo_plan

    return load_photo_plan()


def measure_care(
    data: bytes, name: str, details: Mapping[str, Any], *, grey_row: Sequence[float] | None = None
) -> PhotoCare:
    """Measure a photograph and judge it against the slot and light of its entry.

    Raises
    ------
    InputError
        Not a photograph, or no grey patches where they were said to be.
    """
    from heelstamp.casework.photo_care import care_of
    from heelstamp.media.decoding import measure_photograph

    measures = measure_photograph(data, name, grey_row=grey_row)
    light = str(details.get("light", "visible"))
    slot = photo_plan().slot_of(str(details.get("slot", "")), light)
    return care_of(measures, light=light, slot=slot)


def keep_photograph(
    shop: OpenShop,
    tag: str,
    data: bytes,
    details: Mapping[str, Any],
    *,
    by: str,
    grey_row: Sequence[float] | None = None,
) -> KeptPhotograph:
    """Keep a photograph and its entry, and say at once what to take again.

    What a device sends twice is kept once.

    Raises
    ------
    InputError
        Not a photograph, or the details cannot be read; nothing is kept then.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.dossier import attach_photograph

    standing = shop.subject(tag).state.photographs.get(str(details["id"]))
    if standing is not None and standing.file != sha256(data):
        raise InputError(
            "this id names another photograph",
            where=tag,
            received=details["id"],
            remedy="Send it anew.",
        )
    care = measure_care(data, str(details["name"]), details, grey_row=grey_row)
    if standing is not None:
        return KeptPhotograph(care, None)
    try:
        entry = attach_photograph(shop, tag, data, details, at=now(), by=by)
    except InputError:
        meanwhile = shop.subject(tag).state.photographs.get(str(details["id"]))
        if meanwhile is None or meanwhile.file != sha256(data):
            raise
        return KeptPhotograph(care, None)  # it was sent to another server at the same time
    return KeptPhotograph(care, entry)


def photograph_at(shop: OpenShop, tag: str, frame: str) -> Photograph:
    """Return the entry of a photograph.

    Raises
    ------
    NotFoundError
        There is no such dossier, or no such photograph in it.
    """
    return entry_named(shop.subject(tag).state.photographs, tag, frame, "photograph")


def care_at(shop: OpenShop, tag: str, frame: str) -> PhotoCare | None:
    """Measure a frame again; None when there is no such frame."""
    one = shop.subject(tag).state.photographs.get(frame)
    if one is None:
        return None
    told = {"slot": one.slot, "light": one.light}
    return measure_care(shop.files.get(one.file), one.name, told)


def missing_photographs(
    shop: OpenShop, tag: str, *, before: str | None = None
) -> tuple[Missing, ...]:
    """Return the slots of the plan without their frames; only those that *before* would end.

    Raises
    ------
    InputError
        No such dossier, or no such act in the plan.
    """
    from heelstamp.casework.photo_plan import missing_before, missing_slots

    subject, plan = shop.subject(tag), photo_plan()
    if before is None:
        return missing_slots(subject.state, plan, subject.tree)
    return missing_before(before, subject.state, plan, subject.tree)


def small_copy(shop: OpenShop, photograph: Photograph, wide: int) -> bytes:
    """Make a JPEG of at most *wide* pixels; remembered."""

    def make() -> bytes:
        data = shop.files.get(photograph.file)
        return shop.photographs.outgoing(data, photograph.name, wide)

    return shop.copies.get((photograph.file, wide), make)
