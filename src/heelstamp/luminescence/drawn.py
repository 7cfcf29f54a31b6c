"""The drawn outline and parts as a help for the position: which edges a lamp at one side moves.

A rounded rim that turns away from the lamp is dark, so that the body seems to end up to two
millimetres inside itself there; beside a part the glow begins where its shade ends. The edges on
the other side, rim towards the lamp and coat between lamp and part, lie where they are. From the
rough position the direction of the lamp is told (``lamp_direction``) and the edges that it moves
count for little. Where it cannot be told all count alike, and the rim's points may be displaced
by shade in ``consensus``. Only bands along the drawn lines are taken, no line itself: a hand draws
to a millimetre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import coat_model, lamp_direction, structure
from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.structure import Matrix

Points = NDArray[np.float64]
Mask = NDArray[np.bool_]
USUAL_BODY_MM = 430.0
RIM_MM, PART_MM = 6.0, 4.0
SHADED_MM = 0.8
"""How far shade moves a rim, one standard deviation: a rounding of 1.5 to 5 mm under a lamp 35 to
60 degrees above the plane loses 0.2 to 2 mm of it."""
FACING, SHADED = 0.15, 0.1
THIN_MM = 3.0
"""Strings and the like are too thin to cast a shade that counts."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Outline and parts, pixels of the visible photograph at some size."""

    outline: Points
    parts: tuple[Points, ...] = ()

    def at(self, matrix: Matrix) -> Drawn:
        """The same in other pixels."""
        moved = tuple(structure.apply(matrix, np.asarray(one, float)) for one in self.parts)
        return Drawn(structure.apply(matrix, np.asarray(self.outline, float)), moved)

    @property
    def per_mm(self) -> float:
        """Pixels a millimetre, from a body of the usual length."""
        return float(np.ptp(self.outline, axis=0).max()) / USUAL_BODY_MM

    def bands(self, shape: tuple[int, int]) -> Bands:
        """The bands along outline and parts at a size."""
        body = _filled([self.outline], shape)
        parts = _filled(self.parts, shape)
        size = max(1, round(THIN_MM * self.per_mm)) | 1
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
        thick = np.asarray(cv2.morphologyEx(parts, cv2.MORPH_OPEN, disc), dtype=np.uint8)
        rim = _Line.of(body, self.per_mm)
        part = _Line.of(thick, self.per_mm) if thick.any() else None
        return Bands(rim, part, body > 0, parts > 0, self.per_mm)


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """Signed distance to the border of a mask, px, negative inside, and its outward normal."""

    signed: Float
    x: Float
    y: Float

    @staticmethod
    def of(mask: NDArray[np.uint8], per_mm: float) -> _Line:
        outer = cv2.distanceTransform(1 - mask, cv2.DIST_L2, 5)
        inner = cv2.distanceTransform(np.pad(mask, 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
        signed = (np.asarray(outer) - np.asarray(inner)).astype(np.float32)
        calm = cv2.GaussianBlur(signed, (0, 0), max(1.0, 0.5 * per_mm))
        x, y = cv2.Sobel(calm, cv2.CV_32F, 1, 0), cv2.Sobel(calm, cv2.CV_32F, 0, 1)
        size = cv2.magnitude(x, y) + np.float32(1e-6)
        return _Line(signed, (x / size).astype(np.float32), (y / size).astype(np.float32))

    def facing(self, degrees: float) -> Float:
        """The cosine between the outward normal and a direction of the picture."""
        turn = np.radians(degrees)
        return np.asarray(self.x * np.cos(turn) + self.y * np.sin(turn), dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Where the rim and the borders of parts lie, at a working size."""

    rim: _Line
    part: _Line | None
    body: Mask
    parts: Mask
    per_mm: float

    @property
    def rim_px(self) -> float:
        """How far shade moves a rim, px, one standard deviation."""
        return SHADED_MM * self.per_mm

    def outward(self, points: Points) -> Points:
        """The rim's outward normal at points near it, else nought."""
        h, w = self.rim.signed.shape
        x = np.clip(np.round(points[:, 0]).astype(int), 0, w - 1)
        y = np.clip(np.round(points[:, 1]).astype(int), 0, h - 1)
        near = np.abs(self.rim.signed[y, x]) < RIM_MM * self.per_mm
        normal = np.column_stack([self.rim.x[y, x], self.rim.y[y, x]]).astype(float)
        return np.where(near[:, None], normal, 0.0)

    def lit(self, degrees: float | None) -> Float:
        """One where an edge lies where it is under a lamp in a direction, little where it moved."""
        counts = np.ones(self.rim.signed.shape, np.float32)
        if degrees is None:
            return counts
        beside = np.zeros(counts.shape, bool)
        if self.part is not None:
            beside = np.abs(self.part.signed) < PART_MM * self.per_mm
            counts[beside & (self.part.facing(degrees) < FACING)] = SHADED
        rim = ~beside & (np.abs(self.rim.signed) < RIM_MM * self.per_mm)
        counts[rim & (self.rim.facing(degrees) < FACING)] = SHADED
        return counts

    def lamp(self, light: Float) -> float | None:
        """The direction of the lamp, from linear UV luminance laid roughly over the bands."""
        coat = coat_model.coat_geometry(self.body, self.parts, self.per_mm)
        level = np.log(np.maximum(light, np.float32(2e-3))).astype(np.float32)
        found = lamp_direction.towards(structure.blurred(level, max(0.6, 0.5 * self.per_mm)), coat)
        return None if found is None else found.degrees


def _filled(polygons: Sequence[Points], shape: tuple[int, int]) -> NDArray[np.uint8]:
    mask = np.zeros(shape, np.uint8)
    for one in polygons:
        cv2.fillPoly(mask, [np.round(np.asarray(one) * 16).astype(np.int32)], 1, shift=4)
    return mask
