"""Entries of condition, as they are made at the bench."""

from __future__ import annotations

from typing import Any

from heelstamp.casework.condition.vocabulary import SCALE, USUAL
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.errors import InputError
from heelstamp.units import LengthUnit, read_length


def place_entries(
    stamp: EntryStamp, told: dict[str, Any], *, size: str, unit: LengthUnit
) -> list[NewEntry]:
    """Make the entry of one place; *size* is ``4 x 2`` or ``4``, in *unit*.

    Raises
    ------
    InputError
        A size that cannot be read.
    """
    body = {key: value for key, value in told.items() if value not in (None, "")}
    body.setdefault("material", USUAL.get(str(body.get("damage")), "finish"))
    if body.get("visit") == "intake":
        body["since"] = "here at intake"
    sizes = sorted(_sizes(size, unit), reverse=True)
    body |= dict(zip(("length_mm", "width_mm"), sizes, strict=False))
    return [NewEntry("condition", {"id": stamp.id, **body, **stamp.late})]


def _sizes(size: str, unit: LengthUnit) -> list[float]:
    told = [one.strip() for one in size.replace("×", "x").split("x") if one.strip()]
    if len(told) > 2:
        raise InputError("not a size", received=size, remedy="Write it as 4 x 2, or as 4.")
    return [read_length(one, unit, where="size").mm for one in told]


def looked_entries(stamp: EntryStamp, *, face: str, visit: str) -> list[NewEntry]:
    """Make the entry that a face was looked over whole."""
    return [NewEntry("face_looked", {"id": stamp.id, "face": face, "visit": visit, **stamp.late})]


def grade_entries(stamp: EntryStamp, *, aspect: str, grade: str, reason: str) -> list[NewEntry]:
    """Make the entry of one person's letter for one aspect.

    Raises
    ------
    InputError
        No such aspect.
    """
    if aspect not in SCALE:
        raise InputError("no such aspect", received=aspect, remedy=f"One of {', '.join(SCALE)}.")
    body = {"id": stamp.id, "grade": grade, "aspect": aspect, **stamp.late}
    return [NewEntry("grade", body | {"reason": reason or SCALE[aspect].get(grade, "looked at")})]


def difference_entries(
    stamp: EntryStamp, *, before: str, after: str, it_is: str, note: str = ""
) -> list[NewEntry]:
    """Make the entry that what differs in two photographs is nothing that came or went."""
    body = {"id": stamp.id, "before": before, "after": after, "it_is": it_is, **stamp.late}
    return [NewEntry("difference_look", body | ({"note": note} if note else {}))]
