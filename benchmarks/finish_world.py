"""One drawn body with its photographs and its truth, whatever drew it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

NUISANCES = ("plain", "shadow", "gloss", "contour", "fibre", "two lamps", "all")


@dataclass
class World:
    """A body under UV-A with the lamp at several places.

    ``uv`` by place of the lamp; ``azimuth`` in degrees of the picture; ``to_visible`` maps pixels
    of each UV-A frame to those of the visible one; ``labels`` numbers what was planted, in the
    visible frame, ``kinds`` names it in turn; ``grey`` is the box of a standard of 0.18.
    """

    visible: NDArray[np.uint8]
    uv: list[NDArray[np.uint8]]
    azimuth: list[float]
    outline: NDArray[np.float64]
    parts: list[tuple[str, NDArray[np.float64]]]
    grey: tuple[float, float, float, float]
    labels: NDArray[np.uint8]
    per_mm: float
    kinds: list[str] = field(default_factory=list)
    to_visible: list[NDArray[np.float64]] = field(default_factory=list)
