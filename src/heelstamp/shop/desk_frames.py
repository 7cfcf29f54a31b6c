"""Photographs at the desk: kept once, looked at on arrival, copied small, missed by the plan.

Copies for the screen are remembered by the file's digest within a bound of bytes; a file never
changes, so a copy never grows stale.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from heelstamp.shop.opened import OpenShop
from heelstamp.shop.kept_bytes import KeptBytes
from heelstamp.shop.folder import now
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.photo_care import PhotoCare
    from heelstamp.casework.photo_plan import Missing, PhotoPlan
    from heelstamp.catalogue import Photograph

COPIES_MAX = 64_000_000
"""Bytes of small copies that are remembered."""


def small_copy(desk: OpenShop, kept: KeptBytes, photograph: Photograph, wide: int) -> bytes:
    """Give a copy of at most *wide* pixels."""

    def make() -> bytes:
        data = desk.shop.files.get(photograph.file)
        return desk.shop.photographs.outgoing(data, photograph.name, wide)

    return kept.get((photograph.file, wide), make)


def the_plan() -> PhotoPlan:
    """Give the photo plan that comes with the program."""
    from heelstamp.reference.photo_plan import load_photo_plan

    return load_photo_plan()


def missing_at(desk: OpenShop, tag: str) -> tuple[Missing, ...]:
    """Give the slots of the plan without their frames."""
    from heelstamp.casework.photo_plan import missing_slots

    subject = desk.subject(tag)
    return missing_slots(subject.state, the_plan(), subject.tree)


def keep_photograph(
    desk: OpenShop, tag: str, data: bytes, details: Mapping[str, Any], *, by: str
) -> PhotoCare:
    """Keep a photograph and its entry, and say at once what to take again.

    What a device sends twice is kept once.

    Raises
    ------
    InputError
        Not a photograph, or the details cannot be read; nothing is kept then.
    """
    from heelstamp.archive import sha256
    from heelstamp.shop.photo_desk import care_of_photograph
    from heelstamp.casework.dossier import attach_photograph

    state = desk.subject(tag).state
    standing = state.photographs.get(str(details["id"]))
    if standing is not None and standing.file != sha256(data):
        raise InputError(
            "this id names another photograph",
            where=tag,
            received=details["id"],
            remedy="Send it anew.",
        )
    care = care_of_photograph(data, str(details["name"]), details)
    if standing is not None:
        return care
    attach_photograph(desk.shop, tag, data, details, at=now(), by=by)
    return care


def care_at(desk: OpenShop, tag: str, frame: str) -> PhotoCare | None:
    """Look at a frame again; None when there is no such frame."""
    from heelstamp.shop.photo_desk import care_of_photograph

    one = desk.subject(tag).state.photographs.get(frame)
    if one is None:
        return None
    told = {"slot": one.slot, "light": one.light}
    return care_of_photograph(desk.shop.files.get(one.file), one.name, told)
