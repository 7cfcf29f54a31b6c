"""What is drawn on a photograph at the bench: boxes over identity, and a known length.

A box is filled in every copy that goes to outsiders; a scale lets a picture of a report carry a
bar. Places are typed and drawn in per cent of the picture, as it is displayed, from its upper left
corner. The entries are those that ``heelstamp add`` makes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.picture_scales import scales_of
from heelstamp.catalogue import DossierState, Photograph, PictureBox, PictureScale
from heelstamp.errors import InputError
from heelstamp.units import LengthUnit, read_length

HIDES: Mapping[str, str] = {
    "number": "the serial number",
    "grain": "grain that tells this one from others",
    "person": "a person or a name",
    "other": "something else of identity",
}
"""What a box may cover, in words; never evidence."""

LEAST_PX = 20
"""Pixels of the photograph; a scale from nearer points would carry the error of the hand."""
_PLACES = 6
_NEAR = 0.05
"""Per cent of the picture by which a drawn box may pass its edge, by rounding."""


@dataclass(frozen=True, slots=True)
class MarkedPicture:
    """What stands on one photograph.

    Attributes
    ----------
    boxes
        In the order of entry.
    scale
        The last length that was told; earlier ones are superseded.
    width_mm
        What the width of the picture spans in the plane of the subject, by that scale.
    """

    boxes: tuple[PictureBox, ...]
    scale: PictureScale | None
    width_mm: float | None


def marked_picture(state: DossierState, frame: str) -> MarkedPicture:
    """Gather what was drawn on one photograph."""
    scales = [one for one in state.of(PictureScale).values() if one.frame == frame]
    return MarkedPicture(
        tuple(one for one in state.of(PictureBox).values() if one.frame == frame),
        scales[-1] if scales else None,
        scales_of(state).get(frame),
    )


def box_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    frame: str,
    hides: str,
    left: float,
    top: float,
    width: float,
    height: float,
    note: str = "",
) -> list[NewEntry]:
    """Make the entry of one box, given in per cent of the picture.

    Raises
    ------
    InputError
        No such frame, or a box outside of the picture or without extent.
    """
    _require(state, frame)
    extents = {}
    for name, begin, extent in (("width", left, width), ("height", top, height)):
        if begin < 0 or extent <= 0 or begin + extent > 100 + _NEAR:
            raise InputError(
                "a box that leaves the picture, or covers nothing of it",
                where=f"frame {frame}, {name}",
                received=f"{extent:g} % from {begin:g} %",
                remedy="Draw it within the picture: from its edge and extent come to at most 100.",
            )
        extents[name] = _share(min(extent, 100 - begin))
    body: dict[str, Any] = {"id": stamp.id, "frame": frame, "hides": hides, **extents}
    body |= {"x": _share(left), "y": _share(top)} | ({"note": note} if note else {})
    return [NewEntry("picture_box", body | stamp.late)]


def scale_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    frame: str,
    ends: tuple[float, float, float, float],
    length: str,
    unit: LengthUnit,
    note: str = "",
) -> list[NewEntry]:
    """Make the entry of a known length between two points.

    Parameters
    ----------
    ends
        Both points in per cent of the picture: across and down, across and down.
    length
        As typed, in *unit* where it names none.

    Raises
    ------
    InputError
        No such frame, a point outside of the picture, a length that cannot be read, or points so
        close together that no scale follows from them.
    """
    picture = _require(state, frame)
    if any(not 0 <= one <= 100 for one in ends):
        raise InputError(
            "a point outside of the picture",
            where=f"frame {frame}",
            received=", ".join(f"{one:g} %" for one in ends),
            remedy="Give both points in per cent of the picture, 0 to 100.",
        )
    across, down = ends[2] - ends[0], ends[3] - ends[1]
    apart = math.hypot(across * picture.width, down * picture.height) / 100
    if apart < LEAST_PX:
        raise InputError(
            "two points too close together for a scale",
            where=f"frame {frame}",
            received=f"{apart:.0f} px apart",
            remedy=f"Take two points at least {LEAST_PX} px apart, as far as the rule allows.",
        )
    told = read_length(length, unit, where="length")
    if told.mm <= 0:
        raise InputError("no length", where="length", received=length, remedy="More than nought.")
    x0, y0, x1, y1 = (_share(one) for one in ends)
    body: dict[str, Any] = {"id": stamp.id, "frame": frame, "length_mm": told.mm}
    body |= {"x0": x0, "y0": y0, "x1": x1, "y1": y1}
    said = "; ".join(filter(None, (f"typed as {told.typed}" if told.typed else "", note)))
    return [NewEntry("picture_scale", body | ({"note": said} if said else {}) | stamp.late)]


def removal_entries(
    state: DossierState, stamp: EntryStamp, *, mark: str, reason: str
) -> list[NewEntry]:
    """Make the correction that withdraws a box or a scale; nothing where it is withdrawn already.

    Raises
    ------
    InputError
        There is no such box or scale, or no reason.
    """
    if mark not in {*state.of(PictureBox), *state.of(PictureScale)}:
        said = [one.body for one in state.history.get(mark, ())]
        if any(isinstance(one, PictureBox | PictureScale) for one in said):
            return []
        raise InputError("no such box or scale", received=mark, remedy="See the photograph.")
    body = {"id": stamp.id, "corrects": mark, "reason": reason, "replacement": None}
    return [NewEntry("correction", body | stamp.late)]


def _require(state: DossierState, frame: str) -> Photograph:
    one = state.photographs.get(frame)
    if one is None:
        raise InputError("no such frame", received=frame, remedy="See the frames of the dossier.")
    return one


def _share(per_cent: float) -> float:
    return round(per_cent / 100, _PLACES)
