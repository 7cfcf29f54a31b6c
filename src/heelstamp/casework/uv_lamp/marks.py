"""What a person draws on a pair before it is compared, kept so that the comparison can be traced.

Outline and parts as polygons, two ends of a known length, rectangles of grey standards, and points
seen in both photographs where the search for the position failed: pixels of the upright visible
photograph (points: also of the UV-A one). Kept as a JSON file of schema ``heelstamp/lamp-marks/1``
whose SHA-256 an entry of both frames names; the last that stands counts. The outline and the parts
of it are a document that ``glow --masks`` takes.

A proposal of the program is thinned before it is shown for correction: corners that move the line
by less than three quarters of a pixel on a 1600 px picture are left out (Ramer 1972, Douglas and
Peucker 1973). That moves the area of the demonstration's outlines by 0.02 %, of a string by 3 %.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import cv2
import msgspec
import numpy as np
from numpy.typing import NDArray

from heelstamp.archive import canonical_json, read_json
from heelstamp.casework.finish.request import MOST_CORNERS, PairRequest
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.uv_lamp.pairs import Pairing
from heelstamp.catalogue import DossierState, PairMarks
from heelstamp.catalogue.conversion import convert
from heelstamp.documents import parse_document
from heelstamp.errors import InputError
from heelstamp.luminescence import Masks

SCHEMA = "heelstamp/lamp-marks/1"
MEDIA_TYPE = "application/json"
FINE = 1600
"""Longer side in pixels at which thinning is judged."""
OFF_LINE = 0.75
FAR = 1.0e6
MOST_PARTS, MOST_GREYS, MOST_POINTS = 60, 8, 40

Point = tuple[float, float]
Corners = NDArray[np.float64]


class MarkedPart(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A part that is no coat: its name and its border."""

    name: str
    polygon: list[Point]


class Marks(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """Everything that was drawn; empty where nothing was.

    Attributes
    ----------
    ruler
        x0, y0, x1, y1 of a known length and its millimetres.
    greys
        x0, y0, x1, y1 and reflectance of each standard.
    points
        x, y in the visible and x, y in the UV-A photograph of each.
    brushed
        The surface was brushed between the UV-A frames.
    """

    outline: list[Point] = []
    parts: list[MarkedPart] = []
    ruler: tuple[float, float, float, float, float] | None = None
    greys: list[tuple[float, float, float, float, float]] = []
    points: list[tuple[float, float, float, float]] = []
    brushed: bool = False

    @property
    def masks(self) -> Masks | None:
        """Outline and parts for the engine; None to have them proposed."""
        if not self.outline:
            return None
        parts = tuple((one.name, _array(one.polygon)) for one in self.parts)
        return Masks(_array(self.outline), parts)

    def request(self) -> PairRequest:
        """What is asked of the pair.

        Raises
        ------
        InputError
            An impossible length, standard, polygon or number of points.
        """
        return PairRequest.of(
            masks=self.masks,
            ruler=self.ruler,
            greys=self.greys,
            points=self.points,
            brushed=self.brushed,
        )

    def data(self) -> dict[str, Any]:
        """The marks as plain values."""
        plain: dict[str, Any] = msgspec.to_builtins(self)
        return plain


def read_marks(text: str, *, size: tuple[int, int]) -> Marks:
    """Read what the page sends.

    Parameters
    ----------
    text
        JSON object with any of ``outline``, ``parts``, ``ruler``, ``greys``, ``points``; empty for
        nothing drawn.
    size
        Width and height of the visible photograph.

    Raises
    ------
    InputError
        Not such an object, points outside the photograph, too many, or impossible marks.
    """
    if not text.strip():
        return Marks()
    marks = convert(parse_document(text, "marks", "json"), Marks, where="marks")
    corners = len(marks.outline) + sum(len(one.polygon) for one in marks.parts)
    for what, many, most in (
        ("corners", corners, MOST_CORNERS),
        ("parts", len(marks.parts), MOST_PARTS),
        ("grey standards", len(marks.greys), MOST_GREYS),
        ("points", len(marks.points), MOST_POINTS),
    ):
        if many > most:
            raise InputError(
                f"more {what} than a person draws",
                where="marks",
                received=many,
                remedy=f"Stay at {most} or fewer.",
            )
    for one in marks.parts:
        if not one.name.strip() or len(one.name) > 60 or not one.name.isprintable():
            raise InputError(
                "a part without a plain name",
                where="marks",
                received=ascii(one.name)[:80],
                remedy="Name it in a few words.",
            )
    if marks.parts and not marks.outline:
        raise InputError(
            "parts without an outline", where="marks", remedy="Draw the outline of the body first."
        )
    _inside(marks, size)
    marks.request()
    return marks


def _inside(marks: Marks, size: tuple[int, int]) -> None:
    """Refuse points outside the photograph; a border may run on where a part leaves the frame."""
    borders = [*marks.outline, *(point for one in marks.parts for point in one.polygon)]
    points = [one[:2] for one in marks.points]
    for x0, y0, x1, y1, _ in (*((marks.ruler,) if marks.ruler else ()), *marks.greys):
        points += [(x0, y0), (x1, y1)]
    width, height = size
    for places, slack in ((borders, float(max(size))), (points, 0.02 * max(size))):
        for x, y in places:
            if not (-slack <= x <= width + slack and -slack <= y <= height + slack):
                raise InputError(
                    "a point outside the photograph",
                    where="marks",
                    received=f"({x:.0f}, {y:.0f})",  # one of them may be 1e999
                    remedy=f"Stay within {width} × {height} pixels.",
                )
    if any(abs(value) > FAR for one in marks.points for value in one):
        raise InputError("a point far outside the photograph", where="marks")


def file_of(marks: Marks, pair: Pairing) -> bytes:
    """The file that is kept: marks with the names of both frames."""
    assert pair.visible is not None
    assert pair.uv is not None
    told = {"schema": SCHEMA, "visible": pair.visible.id, "uv": pair.uv.id, **marks.data()}
    return canonical_json(told)


def kept_marks(data: bytes, where: str) -> Marks:
    """Read a kept file back.

    Raises
    ------
    InputError
        Not such a file.
    """
    told = read_json(data, where=where)
    if not isinstance(told, dict) or told.get("schema") != SCHEMA:
        raise InputError("not a file of marks", where=where)
    told = {key: one for key, one in told.items() if key not in ("schema", "visible", "uv")}
    return convert(told, Marks, where=where)


def standing_marks(state: DossierState, pair: Pairing) -> str | None:
    """The digest of the marks that stand for a pair; None when none were kept."""
    assert pair.visible is not None
    assert pair.uv is not None
    found = state.last(PairMarks, visible=pair.visible.id, uv=pair.uv.id)
    return found.file if found is not None else None


def marks_entries(
    state: DossierState, stamp: EntryStamp, pair: Pairing, marks: Marks, digest: str
) -> list[NewEntry]:
    """The entry that keeps marks; none when the same stand already."""
    if stamp.id in state.entered or standing_marks(state, pair) == digest:
        return []
    assert pair.visible is not None
    assert pair.uv is not None
    body = {
        "id": stamp.id,
        "visible": pair.visible.id,
        "uv": pair.uv.id,
        "file": digest,
        "note": f"Drawn for the comparison: {told_of(marks)}.",
        **stamp.late,
    }
    return [NewEntry("pair_marks", body)]


def told_of(marks: Marks) -> str:
    """Tell in words what was drawn."""
    told = [f"outline and {len(marks.parts)} parts" if marks.outline else "no outline"]
    told.append(f"{marks.ruler[4]:g} mm as scale" if marks.ruler else "no scale")
    count = len(marks.greys)
    told.append(
        f"{count} grey standard{'' if count == 1 else 's'}" if count else "no grey standard"
    )
    if marks.points:
        told.append(f"{len(marks.points)} points")
    return ", ".join(told)


def thinned(masks: Mapping[str, Any], size: tuple[int, int]) -> dict[str, Any]:
    """Outline and parts with fewer corners, in the form of `Marks`.

    Parameters
    ----------
    masks
        ``outline`` and ``parts`` as a finding holds them.
    size
        Width and height of the photograph.
    """
    off = OFF_LINE * max(size) / FINE
    parts = [
        {"name": str(one["name"]), "polygon": thin(one["polygon"], off)} for one in masks["parts"]
    ]
    return {"outline": thin(masks["outline"], off), "parts": parts}


def thin(polygon: Sequence[Sequence[float]], off: float) -> list[list[float]]:
    """Leave out corners of a closed polygon that lie within *off* of the line without them.

    Douglas and Peucker, The Canadian Cartographer 10 (1973) 112-122, as OpenCV has it.
    """
    points = np.asarray(polygon, dtype=float)
    if len(points) <= 4:
        return _rounded(points)
    kept = cv2.approxPolyDP(points.astype(np.float32), off, closed=True)[:, 0, :]
    chosen = kept.astype(float) if len(kept) >= 3 else points
    return _rounded(chosen)


def _rounded(points: Corners) -> list[list[float]]:
    return [[round(float(x), 1), round(float(y), 1)] for x, y in points]


def _array(polygon: Sequence[Point]) -> Corners:
    return np.array(polygon, dtype=float).reshape(-1, 2)
