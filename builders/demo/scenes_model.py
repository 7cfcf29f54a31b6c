"""Frames that show the model as it is: overall views and near views."""

from __future__ import annotations

import numpy as np
from PIL import Image

from demo import instrument as made
from demo import shapes
from demo.grain import Array, Field, blur, smooth
from demo.props import soften, targets, view_of
from demo.studio import Material, Stage, paint

ABOVE = (-0.5, -0.75, 1.15)
RAKE = (-1.0, -0.35, 0.33)


def front(
    frame: int,
    scale: float,
    x: float,
    y: float,
    *,
    rusty: bool = True,
    lamp: tuple[float, float, float] = ABOVE,
    card: tuple[float, float] | None = None,
) -> Stage:
    """Lay the front of the guitar down in a view."""
    stage = Stage(view_of(scale, x, y), frame, lamp)
    made.ground(stage)
    made.whole_front(stage, rusty=rusty)
    if card:
        targets(stage, *card)
    return stage


def back(
    frame: int, scale: float, x: float, y: float, *, card: tuple[float, float] | None = None
) -> Stage:
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
    spots = smooth(
        0.7,
        1.9,
        0.7 * Field(1.1, 1.1, 63).sample(stage.view) + 0.7 * Field(6.0, 5.0, 64).sample(stage.view),
    )
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
    moved = image.transform(
        image.size, Image.Transform.PERSPECTIVE, coefficients, resample=Image.Resampling.BICUBIC
    )
    return np.asarray(moved, np.float32)
