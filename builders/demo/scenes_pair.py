"""The two pairs of one face each, in ordinary light and under UV-A, ten pixels a millimetre.

Both halves are laid down from the same shapes. The UV half answers with each material's own glow;
coat is an even pale straw, changed by the planted patches; two lamps fall off from a hot spot; what
visible light the lamp leaks comes back in proportion to the ordinary colour, also from the ruler
and the greys, which do not glow themselves. Between the halves the camera was knocked a little.
Glows and leak are invented, in the range that the trade describes; the ratios are those that
``RATIOS`` names, in luminance.
"""

from __future__ import annotations

import numpy as np
from PIL import Image

from demo import instrument as made
from demo.grain import Array, Field, View, smooth
from demo.props import pair_targets
from demo.studio import Material, Stage

WIDE, HIGH, SCALE = 5000, 3700, 10.0
MIDDLE = (81.2, 0.0)
ABOVE = (-0.5, -0.75, 1.15)
EXPOSURE = 1.3
TARGETS = {False: (262.0, -118.0), True: (262.0, -118.0)}
"""Where ruler and greys lie, mm, in front and behind: beside the body, on its level."""

RATIOS = {"R1": 0.45, "R2": 1.9, "W1": 0.20, "W2": 0.55, "S1": 1.25, "D1": 0.80}
"""Glow of each planted patch over that of the coat around it, luminance."""
FACES = {False: ("R2", "W2", "S1"), True: ("R1", "W1", "D1")}
"""Patches of the front and of the back."""
KNOCK = {False: (9.0, -6.0, 0.06, 1.0009), True: (-7.0, 8.0, -0.05, 1.0006)}
"""How the camera moved before the UV half: pixels right, pixels down, degrees, enlargement."""

_STRAW = np.asarray((0.300, 0.290, 0.150), np.float32)
_TINTS = {"R2": (0.72, 1.0, 1.75), "W1": (0.98, 0.98, 1.05), "R1": (0.95, 1.0, 1.22)}
_GLOW: dict[Material, tuple[float, float, float]] = {
    made.COAT: (0.300, 0.290, 0.150),
    made.CLEAR: (0.36, 0.36, 0.20),
    made.BOARD: (0.020, 0.012, 0.016),
    made.LAMINATE: (0.105, 0.130, 0.165),
    made.IVORY: (0.36, 0.40, 0.40),
    made.BLACK: (0.006, 0.005, 0.010),
}
_DULL = (0.008, 0.007, 0.016)
_LEAK = np.asarray((0.012, 0.008, 0.085), np.float32)
_LUMA = np.asarray((0.2126, 0.7152, 0.0722), np.float32)


def view(*, behind: bool) -> View:
    """The view of a pair."""
    return View(WIDE, HIGH, SCALE, *MIDDLE, behind)


def is_back(frame: int) -> bool:
    """Tell which face a frame shows."""
    return frame in {26, 27}


def ordinary(frame: int) -> Stage:
    """Lay the face down as it looks in ordinary light, with ruler and greys beside it."""
    behind = is_back(frame)
    stage = Stage(view(behind=behind), frame, ABOVE)
    made.ground(stage)
    if behind:
        made.whole_back(stage)
    else:
        made.whole_front(stage, rusty=True)
    pair_targets(stage, *TARGETS[behind])
    return stage


def pair_visible(frame: int) -> Array:
    """Visible half of a pair; the camera is set as for its UV half, without a shoulder."""
    return np.asarray(EXPOSURE * ordinary(frame).lit(), np.float32)


class Glow(Stage):
    """A stage that answers UV-A with each material's own glow instead of its colour."""

    def lay_mask(self, window, mask, material, **how):  # type: ignore[no-untyped-def]
        """Lay the glow of the material down; textures of ordinary light do not show."""
        how.pop("texture", None)
        glow = _GLOW.get(material, _DULL)
        super().lay_mask(window, mask, Material(glow, 0.12, 0.0, 0.008), **how)


def lamps(height: int, width: int) -> Array:
    """The light of two lamps over the frame: a hot spot at the upper left, a fall-off."""
    rows = np.linspace(-1, 1, height, dtype=np.float32)[:, None]
    columns = np.linspace(-1, 1, width, dtype=np.float32)[None, :]
    left = 0.66 * np.exp(-((columns + 0.70) ** 2) / 1.4 - (rows + 0.35) ** 2 / 1.9)
    right = 0.52 * np.exp(-((columns - 0.80) ** 2) / 1.4 - (rows + 0.20) ** 2 / 2.2)
    spot = 0.10 * np.exp(-((columns + 0.45) ** 2) / 0.35 - (rows + 0.30) ** 2 / 0.45)
    return np.asarray(left + right + spot, np.float32)


def pair_glow(frame: int) -> Array:
    """UV half of a pair: the planted patches at their places, seen by a camera that moved."""
    behind = is_back(frame)
    seen = view(behind=behind)
    colour = ordinary(frame).colour
    stage = Glow(seen, frame, (-0.6, -0.5, 1.0))
    stage.colour[:] = (0.004, 0.003, 0.007)
    if behind:
        made.whole_back(stage)
    else:
        made.whole_front(stage, rusty=True)
    coat = coat_only(stage)
    glow = stage.colour
    glow *= (1 + (_unevenness(seen) - 1) * coat)[..., None]
    for name in FACES[behind]:
        share = made.patch_mask(seen, name) * coat
        glow *= 1 + share[..., None] * (change(name) - 1)
    _lint(stage)
    light = lamps(seen.height, seen.width)
    lean = 1 - 0.35 * np.clip(np.hypot(stage.slope_x, stage.slope_y), 0, 1)
    shaded = (lean * (0.45 + 0.55 * stage.shade) * light)[..., None]
    sheen = np.clip(0.2 - 0.5 * stage.slope_x - 0.6 * stage.slope_y, 0, 1) ** 2
    mirrored = 0.06 * (sheen * (stage.gloss > 0.05))[..., None]
    picture = 1.5 * glow * shaded + _LEAK * (colour + mirrored) * light[..., None]
    return knocked(np.asarray(picture, np.float32), *KNOCK[behind])


def change(name: str) -> Array:
    """By what a patch multiplies the three channels; its luminance ratio is that planned."""
    tint = np.asarray(_TINTS.get(name, (1.0, 1.0, 1.0)), np.float32)
    tint = tint * float(_STRAW @ _LUMA) / float((_STRAW * tint) @ _LUMA)
    return np.asarray(RATIOS[name] * tint, np.float32)


def coat_only(stage: Stage) -> Array:
    """1 where the coat of the body lies open to the lamp."""
    distance = np.abs(stage.colour / _STRAW - 1).max(axis=2)
    return np.asarray(distance < 0.15, np.float32)


def _unevenness(seen: View) -> Array:
    """The slow mottle of an old coat, and the grime of hands along its edges."""
    slow = 0.014 * Field(60.0, 45.0, 81).sample(seen) + 0.006 * Field(7.0, 2.5, 82).sample(seen)
    dirt = smooth(0.6, 2.2, Field(38.0, 30.0, 83).sample(seen))
    return 1 + slow - 0.035 * dirt


def _lint(stage: Stage) -> None:
    """Scatter a few fibres, which glow bluish white wherever they fall."""
    noise = np.random.Generator(np.random.PCG64(84))
    for _ in range(16):
        x, y = noise.uniform(-140, 300), noise.uniform(-165, 165)
        turn, bend, length = noise.uniform(0, 2 * np.pi), noise.normal(0, 0.5), noise.uniform(1, 4)
        line = [
            (x + t * length * np.cos(turn + bend * t), y + t * length * np.sin(turn + bend * t))
            for t in (0.0, 0.33, 0.66, 1.0)
        ]
        cut = stage.cut(line, 0.5, 0.08)
        if cut is not None:
            stage.stain(*cut, (0.5, 0.55, 0.75), 0.8)


def knocked(picture: Array, right: float, down: float, degrees: float, larger: float) -> Array:
    """The picture as a camera sees it that was turned and shifted by so much."""
    angle = np.radians(degrees)
    high, wide = picture.shape[:2]
    c, s = np.cos(angle) / larger, np.sin(angle) / larger
    x0, y0 = wide / 2, high / 2
    place = (
        c,
        s,
        x0 - c * (x0 + right) - s * (y0 + down),
        -s,
        c,
        y0 + s * (x0 + right) - c * (y0 + down),
    )
    moved = [
        Image.fromarray(np.ascontiguousarray(picture[..., k])).transform(
            (wide, high), Image.Transform.AFFINE, place, resample=Image.Resampling.BICUBIC
        )
        for k in range(3)
    ]
    out = np.stack([np.asarray(one, np.float32) for one in moved], axis=-1)
    return np.asarray(np.where(out > 0, out, 0.003), np.float32)
