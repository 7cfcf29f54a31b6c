"""What is asked of a pair besides its photographs: masks, scale, grey standards, points.

Numbers arrive as a person types them (``120,80,940,80,150``), masks as a JSON document of polygons
in pixels of the visible photograph, turned upright. Everything is checked for shape here; whether
it makes sense on the photographs is the engine's to say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import msgspec
import numpy as np

from heelstamp.catalogue.conversion import convert
from heelstamp.documents import decode_text, parse_document
from heelstamp.errors import InputError
from heelstamp.luminescence import GreyStandard, Masks, scale

MOST_CORNERS = 20_000
LEAST_POINTS = 4
UVA_NM = (315.0, 400.0)
"""UV-A: CIE S 017 (ILV), term 17-21-008."""
LAMP_MM = (50.0, 5000.0)

PointPair = tuple[tuple[float, float], tuple[float, float]]


class _Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    name: str
    polygon: list[tuple[float, float]]


class _Masks(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    outline: list[tuple[float, float]]
    parts: list[_Part] = []


@dataclass(frozen=True, slots=True)
class Lamp:
    """The lamp as the examiner tells it, for the record; nothing is computed with it.

    Raises
    ------
    InputError
        A wavelength that is no UV-A, or a distance that no lamp stands at.
    """

    wavelength_nm: float | None = None
    filter: str = ""
    distance_mm: float | None = None

    def __post_init__(self) -> None:
        for value, (low, high), what, unit in (
            (self.wavelength_nm, UVA_NM, "a wavelength that is no UV-A", "nm"),
            (self.distance_mm, LAMP_MM, "a distance that no lamp stands at", "mm"),
        ):
            if value is not None and not low <= value <= high:
                raise InputError(
                    what,
                    where="lamp",
                    received=value,
                    remedy=f"Give {low:g} to {high:g} {unit}, or leave it out.",
                )

    def data(self) -> dict[str, Any]:
        """The lamp as plain values."""
        return {
            "wavelength_nm": self.wavelength_nm,
            "filter": self.filter,
            "distance_mm": self.distance_mm,
        }


@dataclass(frozen=True, slots=True, eq=False)
class PairRequest:
    """What a person adds to the two photographs; nothing of it is needed.

    Attributes
    ----------
    masks
        Outline and parts; None to have them proposed.
    scale
        Of the visible photograph; None to do without areas.
    greys
        Standards that do not glow, in the visible frame.
    points
        Four or more (visible, UV) points, when the position was not found; empty to search.
    brushed
        The surface was brushed between the UV-A frames.
    lamp
        As the examiner tells it.
    """

    masks: Masks | None = None
    scale: scale.Scale | None = None
    greys: tuple[GreyStandard, ...] = ()
    points: tuple[PointPair, ...] = ()
    brushed: bool = False
    lamp: Lamp = field(default_factory=Lamp)

    def data(self) -> dict[str, Any]:
        """The request as plain values, for the digest of a finding."""
        masks = (
            None
            if self.masks is None
            else {
                "outline": np.asarray(self.masks.outline, dtype=float).tolist(),
                "parts": [
                    [name, np.asarray(polygon, dtype=float).tolist()]
                    for name, polygon in self.masks.parts
                ],
            }
        )
        known = self.scale and [self.scale.px_per_mm, self.scale.uncertainty, self.scale.how]
        return {
            "masks": masks,
            "scale": known,
            "greys": [[*grey.box, grey.reflectance] for grey in self.greys],
            "points": [[*seen, *glowing] for seen, glowing in self.points],
            "brushed": self.brushed,
            "lamp": self.lamp.data(),
        }

    @classmethod
    def of(
        cls,
        *,
        masks: Masks | None = None,
        px_per_mm: float | None = None,
        ruler: Sequence[float] | None = None,
        greys: Sequence[Sequence[float]] = (),
        points: Sequence[Sequence[float]] = (),
        brushed: bool = False,
    ) -> PairRequest:
        """Join what the options say.

        Parameters
        ----------
        px_per_mm, ruler
            Scale as a number, or x0, y0, x1, y1 of a known length and its millimetres: one of both.
        greys
            x0, y0, x1, y1, reflectance of each.
        points
            x, y in the visible and x, y in the UV photograph of each.

        Raises
        ------
        InputError
            Both scales, an impossible one, an impossible grey standard, or one to three points.
        """
        if px_per_mm is not None and ruler is not None:
            raise InputError(
                "two scales", where="--scale and --ruler", remedy="Give one of the two."
            )
        known = None
        if px_per_mm is not None:
            known = scale.given(px_per_mm)
        elif ruler is not None:
            x0, y0, x1, y1, millimetres = ruler
            known = scale.from_length((x0, y0, x1, y1), millimetres)
        if 0 < len(points) < LEAST_POINTS:
            raise InputError(
                "too few points to lay one photograph over the other",
                where="--point",
                received=len(points),
                remedy=f"Give {LEAST_POINTS} or more, far apart, seen in both photographs.",
            )
        standards = tuple(GreyStandard((g[0], g[1], g[2], g[3]), g[4]) for g in greys)
        marked = tuple(((p[0], p[1]), (p[2], p[3])) for p in points)
        return cls(masks, known, standards, marked, brushed)


def read_masks(data: bytes, name: str) -> Masks:
    """Read a masks file: ``{"outline": [[x, y], …], "parts": [{"name", "polygon"}, …]}``.

    Raises
    ------
    InputError
        Not JSON, another form, under three corners, or more corners than a person draws.
    """
    read = convert(parse_document(decode_text(data, name), name, "json"), _Masks, where=name)
    corners = len(read.outline) + sum(len(part.polygon) for part in read.parts)
    if corners > MOST_CORNERS:
        raise InputError(
            "more corners than a mask needs",
            where=name,
            received=corners,
            remedy=f"Simplify the polygons; stay under {MOST_CORNERS} corners.",
        )
    try:
        return Masks(
            np.array(read.outline, dtype=float).reshape(-1, 2),
            tuple(
                (part.name, np.array(part.polygon, dtype=float).reshape(-1, 2))
                for part in read.parts
            ),
        )
    except InputError as error:
        raise error.at(name) from None


def read_numbers(text: str, names: str, where: str) -> tuple[float, ...]:
    """Read numbers with commas between them, as many as *names* has.

    Parameters
    ----------
    text
        As typed.
    names
        What they are, as ``x0,y0,x1,y1,MM``.
    where
        The option, for errors.

    Raises
    ------
    InputError
        Another count, or something that is no finite number.
    """
    wanted = len(names.split(","))
    try:
        numbers = tuple(float(one) for one in text.split(","))
    except ValueError:
        numbers = ()
    if len(numbers) != wanted or not all(math.isfinite(one) for one in numbers):
        raise InputError(
            f"not {wanted} numbers", where=where, received=text, remedy=f"Write it as {names}."
        )
    return numbers
