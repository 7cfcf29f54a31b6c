"""Frames that show the model as it is: overall views, near views, the two UV pairs."""

from __future__ import annotations

import numpy as np
from PIL import Image

from demo import instrument as made
from demo import shapes
from demo.grain import Array, Field, View, blur, smooth
from demo.props import soften, targets, view_of
from demo.studio import Material, Stage, paint

ABOVE = (-0.5, -0.75, 1.15)
RAKE = (-1.0, -0.35, 0.33)


def front(frame: int, scale: float, x: float, y: float, *, rusty: bool = True,
          lamp: tuple[float, float, float] = ABOVE,
          card: tuple[float, float] | None = None) -> Stage:  # fmt: skip
    """Lay the front of the guitar down in a view."""
    stage = Stage(view_of(scale, x, y), frame, lamp)
    made.ground(stage)
    made.whole_front(stage, rusty=rusty)
    if card:
        targets(stage, *card)
    return stage


def back(frame: int, scale: float, x: float, y: float, *,
         card: tuple[float, float] | None = None) -> Stage:  # fmt: skip
    """Lay the back of the guitar down in a view."""
    stage = Stage(view_of(scale, x, y, behind=True), frame, ABOVE)
    made.ground(stage)
    made.whole_back(stage)
    if card:
        targets(stage, *card)
    return stage


def overall_front(frame: int) -> Array:
    """Whole front; strings old or new by the frame's place in the work."""
    return front(frame, 1.52, 330, 0, rusty=frame < 40, card=(0.62, 0.82)).lit()


def overall_back(frame: int) -> Array:
    """Whole back."""
    return back(frame, 1.52, 330, 0).lit()


def head_front(frame: int) -> Array:
    """Head from the front."""
    return front(frame, 7.2, 735, 0).lit()


def head_back(frame: int) -> Array:
    """Head from behind, six housings."""
    return back(frame, 7.6, 738, 0).lit()


def edge_lower(frame: int) -> Array:
    """Lower edge at raking light: ripples and fine cracks of an old coat."""
    stage = front(frame, 6.4, -70, 78, lamp=RAKE)
    _ripple(stage, 0.05)
    _checking(stage, 0.10)
    return stage.lit(ambient=0.16, key=0.95, warmth=0.05)


def _ripple(stage: Stage, strength: float) -> None:
    bumps = 0.6 * Field(14.0, 9.0, 55).sample(stage.view) + 0.3 * Field(3.0, 1.0, 56).sample(
        stage.view
    )
    down, across = np.gradient(bumps)
    matt = stage.metal < 0.5
    stage.slope_x += strength * across * stage.view.scale * matt
    stage.slope_y += strength * down * stage.view.scale * matt


def _checking(stage: Stage, strength: float) -> None:
    x, y = stage.view.millimetres()
    bend = 2.2 * Field(22.0, 16.0, 57).sample(stage.view)
    cross = np.abs(((y * 0.32 + x + bend) / 13.0) % 1.0 - 0.5)
    broken = smooth(0.1, 0.9, Field(9.0, 12.0, 58).sample(stage.view))
    line = (1 - smooth(0.004, 0.014, cross)) * broken * (stage.gloss > 0.5) * (stage.metal < 0.5)
    soft = blur(line.astype(np.float32), 1.0)
    stage.slope_x += strength * 6 * np.gradient(soft, axis=1)
    stage.colour *= (1 - 0.35 * soft)[..., None]


def plate(frame: int) -> Array:
    """Neck plate before turning."""
    stage = back(frame, 12.5, shapes.PLATE[0], 0.0, card=(0.9, 0.05))
    return soften(stage.lit(), 0.5, 0.5, 0.46, 3.0)


def guard_screws(frame: int) -> Array:
    """Guard screws at raking light before turning."""
    stage = front(frame, 11.0, shapes.SOCKET[0] + 12, shapes.SOCKET[1] - 12, lamp=RAKE)
    dust = smooth(1.25, 2.3, Field(0.5, 0.5, 61).sample(stage.view))
    stage.colour += (0.07 * dust * (stage.metal < 0.5))[..., None]
    return stage.lit(ambient=0.22, key=0.85, warmth=0.04)


def tuner_four(frame: int) -> Array:
    """Show the odd tuner, near."""
    x, _ = shapes.POSTS[3]
    stage = back(frame, 20.0, x + 1, 29.0, card=(0.85, 0.74))
    return soften(stage.lit(), 0.5, 0.45, 0.42, 3.0)


def bridge(frame: int) -> Array:
    """Bridge with rusted or with new strings."""
    stage = front(frame, 14.5, -4, 0, rusty=frame < 40)
    if frame < 40:
        _grime(stage)
    return soften(stage.lit(), 0.48, 0.5, 0.45, 3.0)


def _grime(stage: Stage) -> None:
    spots = smooth(0.7, 1.9, 0.7 * Field(1.1, 1.1, 63).sample(stage.view)
                   + 0.7 * Field(6.0, 5.0, 64).sample(stage.view))  # fmt: skip
    metal = (stage.metal > 0.5) * spots
    rust = np.asarray(paint(112, 70, 40), np.float32)
    stage.colour += (0.7 * metal)[..., None] * (rust - stage.colour)
    stage.metal *= 1 - 0.6 * metal
    stage.gloss *= 1 - 0.5 * metal


def board(frame: int) -> Array:
    """One third of the board."""
    first = {21: (0, 7), 22: (7, 14), 23: (14, 21)}[frame]
    left, right = shapes.fret(first[1]) - 9, shapes.fret(first[0]) + 7
    return front(frame, 1570 / (right - left), (left + right) / 2, 0).lit()


def pair_visible(frame: int) -> Array:
    """Visible half of a UV pair."""
    if frame == 24:
        return front(frame, 3.0, 88, -4, card=(0.84, 0.80)).lit()
    return back(frame, 3.0, 88, -4, card=(0.85, 0.12)).lit()


# glow under UV-A, linear: what each material answers, invented; see the head of Glow
_STRAW = (0.300, 0.290, 0.150)
_GLOW: dict[Material, tuple[float, float, float]] = {
    made.COAT: _STRAW,
    made.CLEAR: (0.36, 0.36, 0.20),
    made.BOARD: (0.020, 0.012, 0.016),
    made.LAMINATE: (0.105, 0.130, 0.165),
    made.IVORY: (0.36, 0.40, 0.40),
    made.BLACK: (0.006, 0.005, 0.010),
}
_DULL = (0.012, 0.010, 0.026)
RATIOS = {"R1": 0.45, "R2": 1.9, "W1": 0.20, "W2": 0.55, "S1": 1.25, "D1": 0.80}
"""Glow of each planted patch over that of the coat around it."""
_TINTS = {"R2": (0.72, 1.0, 1.75), "W1": (0.95, 0.9, 1.2), "R1": (1.02, 0.98, 1.0)}


class Glow(Stage):
    """A stage that answers UV-A with each material's own glow instead of its colour."""

    def lay_mask(self, window, mask, material, **how):  # type: ignore[no-untyped-def]
        """Lay the glow of the material down; textures of ordinary light do not show."""
        how.pop("texture", None)
        glow = _GLOW.get(material, _DULL)
        super().lay_mask(window, mask, Material(glow, 0.12, 0.0, 0.012), **how)

    def lit(self, **_: float) -> Array:
        """Shade by the fall-off of two lamps and add what violet the lamp leaks."""
        rows = np.linspace(-1, 1, self.view.height, dtype=np.float32)[:, None]
        columns = np.linspace(-1, 1, self.view.width, dtype=np.float32)[None, :]
        lamps = 0.62 * np.exp(-((columns + 0.75) ** 2) / 1.5 - (rows + 0.3) ** 2 / 2.2)
        lamps = lamps + 0.58 * np.exp(-((columns - 0.75) ** 2) / 1.5 - (rows + 0.25) ** 2 / 2.2)
        lean = 1 - 0.35 * np.clip(np.hypot(self.slope_x, self.slope_y), 0, 1)
        glow = self.colour * (lamps * lean * (0.45 + 0.55 * self.shade))[..., None]
        sheen = np.clip(0.2 - 0.5 * self.slope_x - 0.6 * self.slope_y, 0, 1) ** 2
        violet = np.asarray([0.030, 0.012, 0.085], np.float32)
        leak = violet * (0.10 + 0.5 * sheen * (self.gloss > 0.05))[..., None] * lamps[..., None]
        return np.asarray(glow * 1.5 + leak, np.float32)


def pair_glow(frame: int) -> Array:
    """UV half of a pair: the same view, the planted patches at their places."""
    behind = frame == 27
    view = View(1600, 1200, 3.0, 88, -4, behind)
    stage = Glow(view, frame, (-0.6, -0.5, 1.0))
    stage.colour[:] = (0.004, 0.003, 0.008)
    (made.whole_back if behind else made.whole_front)(stage, **({} if behind else {"rusty": True}))
    coat = _coat_only(stage)
    mottle = (
        1 + 0.018 * Field(55.0, 40.0, 81).sample(view) + 0.010 * Field(7.0, 2.0, 82).sample(view)
    )
    stage.colour *= np.where(coat > 0.5, mottle, 1.0)[..., None].astype(np.float32)
    for name in ("R1", "W1", "D1") if behind else ("R2", "W2", "S1"):
        share = (made.patch_mask(view, name) * coat)[..., None]
        tint = np.asarray(_TINTS.get(name, (1.0, 1.0, 1.0)), np.float32)
        stage.colour *= 1 + share * (RATIOS[name] * tint - 1)
    return stage.lit()


def _coat_only(stage: Stage) -> Array:
    """Give 1 where the coat of the body lies open to the lamp."""
    distance = np.abs(stage.colour / np.asarray(_STRAW, np.float32) - 1).max(axis=2)
    return np.asarray(distance < 0.25, np.float32)


def oblique(frame: int) -> Array:
    """Front or back seen from a corner: the flat view laid on a table in perspective."""
    behind = frame == 12
    stage = (back if behind else front)(frame, 1.56, 336, 0)
    outline = Stage(stage.view, frame, ABOVE)
    solid = Material((1.0, 1.0, 1.0), 0, 0, 0)
    for shape in (shapes.BODY, shapes.NECK, shapes.HEAD):
        outline.lay(shape, solid)
    thick = outline.colour[..., 0].copy()
    for x, y in shapes.POSTS:
        outline.disc(x, 56 if y > 0 else -56, 6.5, solid)
    mask = outline.colour[..., 0]
    flat = stage.lit()
    source = [(0, 180), (1600, 180), (1600, 1020), (0, 1020)]
    target = [(190, 330), (1440, 250), (1600, 800), (30, 1060)]
    if behind:
        target = [(150, 250), (1420, 350), (1580, 1060), (-20, 830)]
    across = _perspective(target, source)
    warped = np.stack([_warp(flat[..., k], across) for k in range(3)], axis=-1)
    top = np.clip(_warp(mask, across), 0, 1)
    thick = np.clip(_warp(thick, across), 0, 1)
    table = Stage(stage.view, frame, ABOVE)
    made.ground(table)
    rows = np.linspace(0, 1, 1200, dtype=np.float32)[:, None, None]
    picture = table.colour * (0.62 + 0.55 * rows)
    fallen = blur(np.roll(top, (46, 26), (0, 1)), 22.0)
    picture = picture * (1 - 0.6 * fallen[..., None])
    side = np.asarray(made.STAIN_DARK, np.float32)
    for step in range(30, 0, -1):
        low = np.roll(thick, step, 0)[..., None]
        shade = 0.55 + 0.85 * (1 - step / 30) ** 2
        picture = picture * (1 - low) + low * side * shade * 1.15
    return picture * (1 - top[..., None]) + warped * top[..., None]


def _perspective(
    target: list[tuple[float, float]], source: list[tuple[float, float]]
) -> list[float]:
    """Solve for the eight coefficients that carry a target pixel to its source pixel."""
    rows, right = [], []
    for (x, y), (u, v) in zip(target, source, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return [float(one) for one in np.linalg.solve(np.array(rows, float), np.array(right, float))]


def _warp(sheet: Array, coefficients: list[float]) -> Array:
    image = Image.fromarray(np.ascontiguousarray(sheet, np.float32))
    moved = image.transform(image.size, Image.Transform.PERSPECTIVE, coefficients,
                            resample=Image.Resampling.BICUBIC)  # fmt: skip
    return np.asarray(moved, np.float32)
