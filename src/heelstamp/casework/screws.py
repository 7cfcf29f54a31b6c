"""Screws: every screw by its number and place, and the count that must come out even.

A screw is taken out by a tap at its place in a picture and put back by a press; putting back is a
correction of its entry, so that both moments stay in the journal. While a screw of an opening is
out, the act that closes the opening is refused: count out = count in. Which act closes which
opening stands in the chronology; without a row there it is ``refit`` and the opening's key.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.catalogue import DossierState, PartsTree, Screw, body_data
from heelstamp.chronology import Chronology
from heelstamp.errors import ConflictError, InputError
from heelstamp.units import LengthUnit, read_length

HEADS = ("oval", "round", "pan", "countersunk", "hexagon")
DRIVES = ("cross", "slot", "hexagon", "square")
THREADS = ("wood", "sheet metal", "machine")
METALS = (
    "nickel plated",
    "chromium plated",
    "brass",
    "blued steel",
    "plain steel",
    "stainless steel",
)
"""What a head shows of its metal; common practice, no source."""
STARTS = ("not tried", "free", "stiff", "does not start")
HELD: Mapping[str, str] = {"neck": "plate_screws"}
"""Part to which the screws of an opening belong, where it is not the part of its own name."""
PICTURES: Mapping[str, tuple[str, ...]] = {
    "guard": ("guard-screws", "tray", "overall-front"),
    "bridge": ("bridge-screws", "bridge"),
    "neck": ("plate", "heel"),
}
"""Slots of the photo plan that show the screws of an opening, the fittest first."""


@dataclass(frozen=True, slots=True)
class Tray:
    """The screws of one opening.

    Attributes
    ----------
    closing
        Acts that close it again.
    out, back
        Screws still out, and those in their holes again; each by number.
    """

    opening: str
    label: str
    part: str
    closing: tuple[str, ...]
    out: tuple[Screw, ...]
    back: tuple[Screw, ...]

    @property
    def screws(self) -> tuple[Screw, ...]:
        """All of them, by number."""
        return tuple(sorted((*self.out, *self.back), key=_number))


def trays(state: DossierState, tree: PartsTree, chronology: Chronology) -> tuple[Tray, ...]:
    """A tray for every opening that an act gives and whose part carries screws."""
    found = []
    for opening in tree.openings:
        part = HELD.get(opening.key, opening.key)
        if opening.key not in PICTURES or part not in tree:
            continue
        own = sorted((s for s in state.screws.values() if s.opening == opening.key), key=_number)
        found.append(
            Tray(
                opening.key,
                opening.label,
                part,
                closing_acts(opening.key, chronology),
                tuple(one for one in own if not one.back),
                tuple(one for one in own if one.back),
            )
        )
    return tuple(found)


def closing_acts(opening: str, chronology: Chronology) -> tuple[str, ...]:
    """The acts that close an opening."""
    rows = [row for row in chronology.accesses if row.opening == opening and row.closed_by]
    return tuple(rows[0].closed_by) if rows else (f"refit {opening}",)


def picture_for(state: DossierState, opening: str) -> str:
    """The frame that shows the screws of an opening best, or an empty text."""
    for slot in PICTURES.get(opening, ()):
        named = [one.id for one in state.photographs.values() if one.slot == slot]
        if named:
            return named[-1]
    return ""


def refuse_loose(state: DossierState, act: str, tree: PartsTree, chronology: Chronology) -> None:
    """Refuse an act that closes an opening while a screw of it is out.

    Raises
    ------
    ConflictError
        Names every screw that is not back.
    """
    for tray in trays(state, tree, chronology):
        if act in tray.closing and tray.out:
            numbers = ", ".join(str(one.number) for one in tray.out)
            raise ConflictError(
                f"{len(tray.out)} of {len(tray.screws)} screws of the {tree[tray.part].label} "
                f"are not back: {numbers}",
                where=f"{tray.label}, {act}",
                received=act,
                remedy="Put each into its own hole on the tray, then close.",
            )


def out_entries(
    state: DossierState,
    stamp: EntryStamp,
    tray: Tray,
    *,
    frame: str,
    x: float,
    y: float,
    like: Mapping[str, Any],
    typed: str = "",
) -> list[NewEntry]:
    """The screw to enter at a place in a picture.

    Parameters
    ----------
    x, y
        Shares of the picture's width and height.
    like
        Head, drive, thread, metal, length, start and whether it is the odd one.
    typed
        How the length was typed where that was in inches.
    """
    if stamp.id in state.entered:
        return []
    number = max((one.number for one in tray.screws), default=0) + 1
    body: dict[str, Any] = {
        "id": stamp.id,
        "part": tray.part,
        "opening": tray.opening,
        "number": number,
        "x": round(min(max(x, 0.0), 1.0), 4),
        "y": round(min(max(y, 0.0), 1.0), 4),
        **{key: one for key, one in like.items() if one not in (None, "")},
    }
    if frame:
        body["frame"] = frame
    if typed:
        body["typed"] = typed
    return [NewEntry("screw", body | stamp.late)]


def screw_length(text: str, lengths: LengthUnit) -> tuple[float | None, str]:
    """Read the length of a screw in the unit of the device: mm, and how it was typed in inches.

    Raises
    ------
    InputError
        Not a length.
    """
    if not text.strip():
        return None, ""
    read = read_length(text, lengths, where="length of the screw")
    return read.mm, read.typed or ""


def change_entries(
    state: DossierState, stamp: EntryStamp, screw: str, changes: Mapping[str, Any], reason: str
) -> list[NewEntry]:
    """The correction that puts a screw back, or says better what it is like.

    Raises
    ------
    InputError
        There is no such screw.
    """
    one = state.screws.get(screw)
    if one is None:
        raise InputError("no such screw", received=screw, remedy="See Screws.")
    if stamp.id in state.entered:
        return []
    replacement = {**body_data(one), **changes}
    replacement = {key: value for key, value in replacement.items() if value is not None}
    if replacement == body_data(one):
        return []
    return [
        NewEntry(
            "correction",
            {
                "id": stamp.id,
                "corrects": screw,
                "reason": reason,
                "replacement": replacement,
                **stamp.late,
            },
        )
    ]


def tray_of(all_trays: tuple[Tray, ...], opening: str) -> Tray:
    """The tray of an opening; the first without a name.

    Raises
    ------
    InputError
        There is no such tray.
    """
    for one in all_trays:
        if one.opening == opening or not opening:
            return one
    raise InputError(
        "no such opening",
        received=opening,
        remedy="Trays: " + ", ".join(one.opening for one in all_trays) + ".",
    )


def _number(one: Screw) -> int:
    return one.number
