"""Light in the UV photograph that is not glow: measured on grey standards and taken away.

CHARISMA user manual for multispectral imaging v1.0 (Dyer, Verri, Cupitt, British Museum 2013),
luminescence chapter: what a non-luminescent standard shows in the UV frame is stray light; it is
modelled at each place from the visible reflectance there and subtracted per channel.
Stops holding where the stray light falls on the standard otherwise than on the object, or where the
standard glows; fall-off towards the corners is not taken out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError
from heelstamp.luminescence.linear import Float

Box = tuple[float, float, float, float]
_FLOOR = 1e-4


@dataclass(frozen=True, slots=True)
class GreyStandard:
    """A patch that does not glow: x0, y0, x1, y1 in visible pixels, and its reflectance 0 to 1."""

    box: Box
    reflectance: float

    def __post_init__(self) -> None:
        x0, y0, x1, y1 = self.box
        if not (x1 > x0 and y1 > y0 and 0.0 < self.reflectance <= 1.0):
            raise InputError(
                "a grey standard without area or with an impossible reflectance",
                where="grey standard",
                received=(self.box, self.reflectance),
                remedy="Give x0,y0,x1,y1 with x1 > x0, y1 > y0 and a reflectance from 0 to 1.",
            )


@dataclass(frozen=True, slots=True)
class StrayLight:
    """Stray light found: UV value per unit of visible reflectance, each channel."""

    per_reflectance: NDArray[np.float64]
    visible_per_reflectance: NDArray[np.float64]

    def at(self, visible: Float) -> Float:
        """The stray light over an image of linear visible light, same shape."""
        gain = self.per_reflectance / self.visible_per_reflectance
        return np.asarray(visible * gain.astype(np.float32), dtype=np.float32)


def measure(
    visible: Float, uv: Float, greys: Sequence[GreyStandard], *, scale: float = 1.0
) -> StrayLight | None:
    """Fit stray light to grey standards by least squares through nought.

    Parameters
    ----------
    visible, uv
        Linear light (h, w, 3), registered to one another.
    greys
        Standards with boxes in pixels of the photograph as taken.
    scale
        Size of *visible* against that photograph.

    Returns
    -------
    StrayLight or None
        None when no standard lies within the frame.
    """
    uv_values, visible_values, reflectances = [], [], []
    for grey in greys:
        x0, y0, x1, y1 = (round(v * scale) for v in grey.box)
        inner = slice(max(0, y0), max(0, y1)), slice(max(0, x0), max(0, x1))
        if uv[inner].size == 0:
            continue
        uv_values.append(np.median(uv[inner].reshape(-1, 3), axis=0))
        visible_values.append(np.median(visible[inner].reshape(-1, 3), axis=0))
        reflectances.append(grey.reflectance)
    if not reflectances:
        return None
    r = np.array(reflectances)
    fitted_uv = r @ np.array(uv_values, dtype=float) / (r @ r)
    fitted_visible = r @ np.array(visible_values, dtype=float) / (r @ r)
    return StrayLight(fitted_uv, np.maximum(fitted_visible, _FLOOR))


def subtract(uv: Float, visible: Float, stray: StrayLight) -> Float:
    """*uv* less the stray light, per channel, not below nought."""
    return np.asarray(np.maximum(uv - stray.at(visible), 0.0), dtype=np.float32)


def share_of_glow(uv: Float, visible: Float, stray: StrayLight, inside: NDArray[np.bool_]) -> float:
    """Stray light over glow, summed over channels, median over the pixels *inside*."""
    got, lost = uv[inside].sum(axis=1), stray.at(visible)[inside].sum(axis=1)
    if got.size == 0:
        return 0.0
    return float(np.median(lost / np.maximum(got - lost, _FLOOR)))
