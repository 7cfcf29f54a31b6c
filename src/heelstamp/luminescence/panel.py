"""Lamp drift, from one physical panel photographed under the lamp again and again.

The CHARISMA user manual for multispectral imaging v1.0 (Dyer, Verri, Cupitt, British Museum 2013)
asks for a stable luminescent reference in the frame, so that photographs of different days can be
compared. Here it is one panel, always the same, in the same place before the lamp, with the same
camera settings: the mean linear glow over its box, less the stray light that a grey standard which
does not glow shows in the same frame (same manual), against the first and against the last few
photographs. All limits are judgement, no source. Stops holding when the panel itself fades or is
touched, and for a camera that applies its own tone curve or automatic balance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError
from heelstamp.luminescence import linear
from heelstamp.luminescence.stray_light import Box, GreyStandard

CHANNELS = ("red", "green", "blue")
PLACEMENT = 0.02
"""Relative standard uncertainty of putting panel, lamp and camera back in place."""
STRAY_DOUBT = 0.3
"""Relative standard uncertainty of stray light that is taken away."""
LEAST_BOX, TILES = 24, 8
DARKEST, MOST_CLIPPED, CLIPPED_CODE = 0.01, 0.001, 254
LEAST_CHANGE = 0.05
"""A change below this is called steady however well it was measured."""
MOST_DOUBT = 0.10
"""Relative standard uncertainty of a ratio above which nothing is compared."""
ROLLING = 4

Values = tuple[float, float, float]


class State(StrEnum):
    """What a panel photograph says of the lamp."""

    STEADY = "steady"
    DRIFTED = "drifted"
    CANNOT = "cannot compare"


@dataclass(frozen=True, slots=True)
class PanelReading:
    """Mean linear glow of the panel, red, green, blue, with standard uncertainties.

    ``settings`` are those of the camera as one text, empty when not known; ``stray_known`` says
    that a grey standard was in the frame.
    """

    glow: Values
    uncertainty: Values
    settings: str = ""
    stray_known: bool = False


@dataclass(frozen=True, slots=True)
class Drift:
    """One reading against a baseline: ratios with standard uncertainties, or why there are none."""

    state: State
    because: str = ""
    to_first: Values | None = None
    to_first_uncertainty: Values | None = None
    to_rolling: Values | None = None

    @property
    def furthest(self) -> float | None:
        """The ratio to the first that is furthest from one."""
        return None if self.to_first is None else max(self.to_first, key=lambda r: abs(r - 1.0))


def measure_panel(
    uv: object,
    box: Box,
    *,
    reflectance: float = 0.5,
    greys: Sequence[GreyStandard] = (),
    settings: str = "",
) -> PanelReading:
    """Measure the glow of the panel in a photograph under the lamp.

    Parameters
    ----------
    uv
        The photograph (see ``linear.as_code_values``).
    box
        x0, y0, x1, y1 of the panel in its pixels, at least 24 pixels wide and high.
    reflectance
        Of the panel in ordinary light, 0 to 1: its share of the stray light.
    greys
        Standards that do not glow, in the same frame.
    settings
        Exposure time, aperture, sensitivity as one text.

    Raises
    ------
    InputError
        No photograph; a box outside it or too small; a panel clipped or too dark to be measured.
    """
    code = linear.as_code_values(uv, "panel photograph")
    piece = _cut(code, box, "panel")
    ends = float((piece.max(axis=2) >= CLIPPED_CODE).mean())
    if ends > MOST_CLIPPED:
        raise InputError(
            "the panel is clipped",
            where="panel",
            received=f"{ends:.1%} of its pixels",
            remedy="Expose less, and keep that setting for every later panel photograph.",
        )
    light = linear.decode(np.ascontiguousarray(piece)).astype(float)
    glow = light.mean(axis=(0, 1))
    rows = np.array_split(light, TILES, axis=0)
    tiles = np.array([t.mean(axis=(0, 1)) for row in rows for t in np.array_split(row, TILES, 1)])
    by_noise = tiles.std(axis=0, ddof=1) / TILES
    lost, doubt = np.zeros(3), np.zeros(3)
    if greys:
        per = [
            linear.decode(np.ascontiguousarray(_cut(code, g.box, "grey standard", least=4)))
            .mean(axis=(0, 1))
            .astype(float)
            / g.reflectance
            for g in greys
        ]
        lost = np.mean(per, axis=0) * reflectance
        doubt = STRAY_DOUBT * lost
    glow = glow - lost
    if float(glow.max()) < DARKEST or float(glow.min()) <= 0:
        raise InputError(
            "the panel hardly glows",
            where="panel",
            received=f"{float(glow.max()):.2%} of range",
            remedy="Look whether the lamp is on and warm and the box lies on the panel.",
        )
    total = np.sqrt(by_noise**2 + doubt**2 + (PLACEMENT * glow) ** 2)
    return PanelReading(_three(glow), _three(total), settings, stray_known=bool(greys))


def drift(readings: Sequence[PanelReading]) -> Drift:
    """Compare the last reading with the first, and with the median of the four before it.

    Steady: no channel's ratio to the first is further from one than 5 % and than twice its standard
    uncertainty, whichever is more. Uncertainties of both readings add in quadrature.
    """
    if len(readings) < 2:
        return Drift(State.CANNOT, "there is no earlier photograph of the panel")
    first, last = readings[0], readings[-1]
    if last.settings != first.settings:
        return Drift(
            State.CANNOT,
            f"camera settings differ: {first.settings or 'not known'} at first, "
            f"{last.settings or 'not known'} now",
        )
    if not last.settings:
        return Drift(State.CANNOT, "camera settings are not known")
    if last.stray_known != first.stray_known:
        return Drift(State.CANNOT, "a grey standard was in one of the two photographs only")
    now, then = np.array(last.glow), np.array(first.glow)
    ratio = now / then
    doubt = ratio * np.hypot(np.array(last.uncertainty) / now, np.array(first.uncertainty) / then)
    before = [r for r in readings[:-1] if r.settings == last.settings][-ROLLING:]
    rolling = now / np.median([r.glow for r in before], axis=0)
    if float((doubt / ratio).max()) > MOST_DOUBT:
        return Drift(
            State.CANNOT,
            f"the ratio is known to {float((doubt / ratio).max()):.0%} only",
            _three(ratio),
            _three(doubt),
            _three(rolling),
        )
    over = np.abs(ratio - 1.0) > np.maximum(LEAST_CHANGE, 2.0 * doubt)
    state = State.DRIFTED if bool(over.any()) else State.STEADY
    told = ", ".join(f"{name} {r:.2f}" for name, r in zip(CHANNELS, ratio, strict=True))
    return Drift(
        state, f"glow against the first: {told}", _three(ratio), _three(doubt), _three(rolling)
    )


def _cut(code: linear.Bytes, box: Box, where: str, *, least: int = LEAST_BOX) -> linear.Bytes:
    x0, y0, x1, y1 = (round(v) for v in box)
    height, width = code.shape[:2]
    if not (
        x0 >= 0 and y0 >= 0 and x1 <= width and y1 <= height and min(x1 - x0, y1 - y0) >= least
    ):
        raise InputError(
            f"a box outside the photograph or under {least} pixels",
            where=where,
            received=box,
            remedy=f"Give x0,y0,x1,y1 within {width} × {height} pixels.",
        )
    return code[y0:y1, x0:x1]


def _three(values: NDArray[np.float64]) -> Values:
    return float(values[0]), float(values[1]), float(values[2])
