"""What a pair of photographs is handed in with, and what is said of it.

Plain typed values; points are (x, y) in pixels of the visible photograph as taken, areas in mm²
only where a scale is known. No word here says that a finish is original.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError
from heelstamp.luminescence.one_frame import Why
from heelstamp.luminescence.regions import Candidate
from heelstamp.luminescence.registration import Registration
from heelstamp.luminescence.structure import Matrix

Points = NDArray[np.float64]


class Kind(StrEnum):
    """How the glow differs from that of the coat around it."""

    DARKER = "darker"
    OTHER_HUE = "other hue"
    BRIGHTER = "brighter"
    GRADUAL = "gradual"


@dataclass(frozen=True, slots=True, eq=False)
class Masks:
    """Outline of the body, and parts on it that are no coat."""

    outline: Points
    parts: tuple[tuple[str, Points], ...] = ()

    def __post_init__(self) -> None:
        for name, polygon in (("outline", self.outline), *self.parts):
            array = np.asarray(polygon)
            if array.ndim != 2 or array.shape[1:] != (2,) or len(array) < 3:
                raise InputError(
                    "a polygon with fewer than three corners",
                    where=f"mask {name}",
                    received=array.shape,
                    remedy="Give [[x, y], …] in visible pixels.",
                )
            if array.dtype.kind not in "iuf" or not np.isfinite(array).all():
                raise InputError(
                    "a polygon with corners that are no numbers",
                    where=f"mask {name}",
                    remedy="Give [[x, y], …] in visible pixels.",
                )


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a pair is refused, or what a reader must know: a code, what was found, what to do."""

    code: str
    found: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Stage:
    """A step of the work, for a progress bar; ``preview`` is a small RGB picture or None."""

    name: str
    share: float
    preview: NDArray[np.uint8] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """One place where the glow differs.

    ``ratio`` is glow over that of the coat around; ``bluer`` the log ratio of blue to green
    against it; ``edge`` from 0 (fades out) to 1 (hard); ``surrounded`` the share of its ring that
    is sound coat; ``visible_difference`` CIEDE2000 between region and ring in ordinary light,
    ``usual_difference`` what places of the same shape around show (``seen_colour``);
    ``confidence`` the calibrated probability, on simulated pairs, that there is such a difference
    at all; ``causes`` possible causes with their support, which sums to one.
    """

    number: int
    polygon: Points
    centre: tuple[float, float]
    area_px: float
    area_mm2: float | None
    area_uncertainty_mm2: float | None
    kind: Kind
    ratio: float
    bluer: float
    edge: float
    surrounded: float
    straight: float
    visible_difference: float
    usual_difference: float
    visible: bool
    confidence: float
    causes: dict[str, float]

    @property
    def area_cm2(self) -> float | None:
        """Area in cm², None without a scale, or where proposed masks cut it."""
        return None if self.area_mm2 is None else self.area_mm2 / 100.0


@dataclass(frozen=True, slots=True)
class Doubt:
    """A difference that the coat need not have made: no area, no cause, no confidence.

    ``centre`` and ``reach_px`` are those of the smallest circle around it, to look there; ``why``
    is what else could have made it.
    """

    centre: tuple[float, float]
    reach_px: float
    kind: Kind
    why: Why


@dataclass(frozen=True, slots=True, eq=False)
class Assessment:
    """The whole answer for one pair.

    ``verdict`` is "assessed" or "refused" (then ``reasons`` say why). ``transform`` maps UV to
    visible pixels. ``labels`` is the map of region numbers in the visible frame, reduced to
    ``label_scale`` of its size; ``label_map`` gives it at full size. ``coat_px`` counts the
    assessed pixels of the full frame; ``doubts`` are differences that light, shape, dust or an
    undrawn part could make, which weigh nothing; ``considered`` holds every candidate with its
    confidence, also those too doubtful to be shown. ``places`` counts the places of the lamp, each
    with its transform in ``transforms`` and the direction of its light in ``lamp_from`` (degrees in
    the visible photograph, 0 right and 90 down, None where it cannot be told); ``untested_px`` of
    the coat are lit too differently from place to place. ``limits`` says what weakens the answer
    without refusing it.
    """

    verdict: str
    reasons: tuple[Reason, ...]
    limits: tuple[Reason, ...] = ()
    transform: Matrix | None = None
    registration: Registration | None = None
    px_per_mm: float | None = None
    masks: Masks | None = None
    masks_proposed: bool = False
    regions: tuple[Region, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    labels: NDArray[np.uint16] = field(default_factory=lambda: np.zeros((0, 0), np.uint16))
    label_scale: float = 1.0
    frame: tuple[int, int] = (0, 0)
    coat_px: float = 0.0
    smallest_mm: float | None = None
    stray_share: float | None = None
    considered: tuple[tuple[Candidate, float], ...] = ()
    places: int = 1
    transforms: tuple[Matrix, ...] = ()
    lamp_from: tuple[float | None, ...] = ()
    brushed: bool = False
    untested_px: float = 0.0

    @property
    def coat_mm2(self) -> float | None:
        """Assessed area in mm², None without a scale or while nobody has looked at the masks."""
        if self.px_per_mm is None or self.masks_proposed:
            return None
        return self.coat_px / self.px_per_mm**2

    def label_map(self) -> NDArray[np.uint16]:
        """Region numbers (nought: none) in every pixel of the visible photograph."""
        height, width = self.frame
        if not self.labels.size or not height:
            return np.zeros(self.frame, np.uint16)
        ys = np.minimum(
            (np.arange(height) + 0.5) * self.labels.shape[0] / height, self.labels.shape[0] - 1
        )
        xs = np.minimum(
            (np.arange(width) + 0.5) * self.labels.shape[1] / width, self.labels.shape[1] - 1
        )
        chosen = self.labels[ys.astype(int)[:, None], xs.astype(int)[None, :]]
        return np.asarray(chosen, dtype=np.uint16)
