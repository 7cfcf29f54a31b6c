"""The invented guitar, laid down on a stage: front, back, and the hardware of both.

Each function draws whatever of its subject falls into the view, so a close-up is the same model
seen nearer. Sizes are plausible for an electric guitar of 641.4 mm scale; none is measured.
"""

from __future__ import annotations

import math

import numpy as np

from demo import shapes
from demo.grain import Array, Field, View, blur, smooth, wood
from demo.shapes import fret
from demo.studio import Material, Stage, paint, plate

STEEL = Material((0.62, 0.62, 0.62), 0.9, 1.0, 0.03)
NICKEL = Material((0.66, 0.63, 0.57), 0.85, 1.0, 0.04)
BRASS = Material((0.70, 0.50, 0.20), 0.7, 0.9, 0.05)
RUST = Material((0.26, 0.17, 0.11), 0.25, 0.35, 0.35)
MASK = Material(paint(236, 232, 222), 0.04, 0.0, 0.01)
BLACK = Material(paint(26, 25, 24), 0.45)
HOLE = Material(paint(9, 8, 8), 0.02)
WAX = Material(paint(52, 34, 22), 0.3)
IVORY = Material(paint(226, 214, 180), 0.45)
LAMINATE = Material(paint(214, 206, 178), 0.55, 0.0, 0.025)
LAMINATE_CORE = Material(paint(38, 34, 32), 0.3)
LACQUER = 0.62

SWELL = {"R1": 0.92, "W1": 0.90}
"""Makes up for the wander of a rim, so that a patch covers what its size says as an ellipse."""
CLOUD = 0.07
"""Share of its own pale grey that the film on the back adds in ordinary light."""

STAIN_PALE, STAIN_DARK = paint(150, 98, 56), paint(78, 44, 22)
MAPLE_PALE, MAPLE_DARK = paint(214, 172, 108), paint(168, 118, 62)
BOARD_PALE, BOARD_DARK = paint(92, 54, 36), paint(36, 20, 15)
RAW_PALE, RAW_DARK = paint(222, 196, 152), paint(186, 154, 108)
COAT = Material(STAIN_PALE, LACQUER)
CLEAR = Material(MAPLE_PALE, LACQUER)
BOARD = Material(BOARD_PALE, 0.2)


def stained(view: View) -> Array:
    """The walnut-stained basswood under clear."""
    return wood(view, STAIN_PALE, STAIN_DARK, seed=11, ring_mm=10, figure=0.75, pores=0.25)


def maple(view: View) -> Array:
    """The neck's wood under aged clear."""
    return wood(view, MAPLE_PALE, MAPLE_DARK, seed=23, ring_mm=5, figure=0.45, pores=0.12)


def board(view: View) -> Array:
    """The rosewood-like board."""
    return wood(view, BOARD_PALE, BOARD_DARK, seed=37, ring_mm=3.6, figure=0.6, pores=0.9)


def bare(view: View) -> Array:
    """Basswood without stain."""
    return wood(view, RAW_PALE, RAW_DARK, seed=11, ring_mm=10, figure=0.5, pores=0.2)


def patch_mask(view: View, name: str) -> Array:
    """How much of each pixel belongs to a planted patch, 0 to 1, with its own rim."""
    centre_x, centre_y, long, wide = shapes.PATCHES[name]
    x, y = view.millimetres()
    u, v = (x - centre_x) / (long / 2), (y - centre_y) / (wide / 2)
    if name == "S1":
        square = np.maximum(np.abs(u), np.abs(v))
        return 1 - smooth(0.985, 1.015, square)
    wobble = 0.10 * Field(9.0, 9.0, 71).sample(view) + 0.05 * Field(3.5, 3.5, 72).sample(view)
    radius = SWELL.get(name, 1.0) * np.hypot(u, v) + (0.0 if name == "R2" else wobble)
    if name in {"R1", "R2"}:
        return 1 - smooth(0.97, 1.03, radius)
    if name == "W2":
        streak = np.tanh(1.4 * Field(1.4, 22.0, 73).sample(view))
        return np.clip((1 - smooth(0.70, 1.22, radius)) * (1 + 0.22 * streak), 0, 1.3)
    if name == "W1":
        return 1 - smooth(0.66, 1.12, SWELL[name] * np.hypot(u, v) + 0.7 * wobble)
    drift = 0.09 * Field(34.0, 26.0, 75).sample(view)
    return 1 - smooth(0.45, 1.20, np.hypot(u, v) + drift)


def screw(
    stage: Stage,
    x: float,
    y: float,
    radius: float,
    *,
    turn: float,
    bright: float = 0.0,
    dust: float = 0.0,
    material: Material = NICKEL,
) -> None:
    """Lay a cross-recess dome-head screw down; *bright* edges after turning, *dust* before it."""
    stage.disc(x, y, radius, material, shadow=0.35 * radius, edge=0.35 * radius, dome=0.35)
    arm, half = 0.62 * radius, 0.13 * radius
    for quarter in (0.0, math.pi / 2):
        angle = turn + quarter
        c, s = math.cos(angle), math.sin(angle)
        blade = [
            (arm, half * 0.5),
            (0.25 * arm, half),
            (-0.25 * arm, half),
            (-arm, half * 0.5),
            (-arm, -half * 0.5),
            (-0.25 * arm, -half),
            (0.25 * arm, -half),
            (arm, -half * 0.5),
        ]
        shape = [(x + c * a - s * b, y + s * a + c * b) for a, b in blade]
        if bright:
            big = [(x + 1.12 * (px - x), y + 1.12 * (py - y)) for px, py in shape]
            stage.lay(big, Material((0.95, 0.94, 0.92), 0.95, 1.0, 0.0))
        fill = Material(paint(96, 86, 74), 0.03, 0.0, 0.3) if dust else HOLE
        stage.lay(shape, fill, shadow=-0.12 * radius)


def body_front(stage: Stage) -> None:
    """Lay the body down, front up, finish patches as they look in ordinary light."""
    view = stage.view
    for place in shapes.STRAP_BUTTONS:
        stage.disc(*place, 6.0, NICKEL, edge=1.6, shadow=4.0)
    texture = stained(view)
    picks = patch_mask(view, "W2")[..., None]
    texture = texture * (1 + 0.07 * picks)
    shaded = patch_mask(view, "S1")[..., None]
    texture = texture * (1 + 0.30 * shaded)
    stage.lay(shapes.BODY, COAT, edge=11.0, shadow=30.0, texture=texture, round_over=0.75)


def body_back(stage: Stage) -> None:
    """Lay the body down, back up."""
    view = stage.view
    for place in shapes.STRAP_BUTTONS:
        stage.disc(*place, 6.0, NICKEL, edge=1.6, shadow=4.0)
    texture = stained(view)
    worn = patch_mask(view, "W1")[..., None]
    dirt = 0.75 + 0.12 * Field(4.0, 1.2, 74).sample(view)[..., None]
    rim = (4 * worn * (1 - worn)) ** 1.5
    texture = texture * (1 - worn) + bare(view) * dirt * worn
    texture = texture * (1 - 0.35 * rim)
    film = patch_mask(view, "D1")[..., None]
    cloud = np.asarray(paint(176, 164, 148), np.float32)
    texture = texture * (1 - CLOUD * film) + cloud * CLOUD * film
    touched = patch_mask(view, "R1")
    texture = texture * (1 - 0.05 * touched[..., None])
    stage.lay(shapes.BODY, COAT, edge=11.0, shadow=30.0, texture=texture, round_over=0.75)
    inside = (stage.metal < 0.1) & (touched > 0.01)
    stage.gloss[inside] *= 1 - 0.45 * touched[inside]
    stage.gloss *= 1 - 0.8 * worn[..., 0]
    step_y, step_x = np.gradient(blur(touched.astype(np.float32), 1.2))
    stage.slope_x += 0.35 * step_x
    stage.slope_y += 0.35 * step_y


def neck_front(stage: Stage) -> None:
    """Lay neck, board, frets, dots and nut down."""
    view = stage.view
    stage.lay(shapes.HEAD, CLEAR, edge=2.2, shadow=9.0, texture=maple(view), round_over=0.6)
    stage.lay(shapes.NECK, BOARD, edge=2.6, shadow=9.0, texture=board(view), round_over=0.7)
    for number in range(1, 22):
        x = fret(number)
        half = 21.5 + (28.0 - 21.5) * (641.4 - x) / (641.4 - shapes.HEEL) - 0.8
        stage.lay([(x, -half), (x, half)], NICKEL, width=2.1, edge=0.9, shadow=0.9)
    for number in (3, 5, 7, 9, 12, 15, 17, 19, 21):
        x = (fret(number) + fret(number - 1)) / 2
        for y in (-9.5, 9.5) if number == 12 else (0.0,):
            stage.disc(x, y, 3.0, IVORY, edge=0.2)
    stage.lay(plate(641.4, 0, 4.2, 42.0, 0.6), IVORY, edge=0.9, shadow=1.2)


def head_front(stage: Stage, *, posts: bool = True) -> None:
    """Lay badge, rod seat, tuner posts and ferrules down."""
    x, _ = shapes.ROD
    stage.lay(plate(x, 0, 17, 9.5, 4.6), HOLE, shadow=-2.0)
    stage.lay(plate(x + 2, 0, 8, 5.5), BRASS, edge=0.5, shadow=0.6)
    x, y = shapes.BADGE
    stage.lay(plate(x, y, 44, 20, 9.8), BRASS, edge=1.6, shadow=1.2)
    stage.lay(plate(x, y, 40.5, 16.5, 8.1), Material(paint(92, 28, 26), 0.55), edge=-0.5)
    stage.letters("WHERRY", x, y + 1.6, 4.6, colour=paint(232, 200, 120), pressed=0.5)
    stage.letters("SALLOWBY", x, y - 4.2, 2.2, colour=paint(232, 200, 120), pressed=0.4)
    for pin in (x - 19.0, x + 19.0):
        stage.disc(pin, y, 1.1, BRASS, edge=0.5, dome=0.5, shadow=0.4)
    if posts:
        for x, y in shapes.POSTS:
            stage.disc(x, y, 5.4, NICKEL, edge=1.4, shadow=1.5)
            stage.disc(x, y, 3.1, STEEL, edge=0.8, shadow=3.0, dome=0.25)
            side = 1 if y > 0 else -1
            stage.lay(plate(x, side * 56, 14, 17, 5.5), IVORY, edge=3.0, shadow=5.0)
            stage.lay([(x, side * 40), (x, side * 49)], NICKEL, width=4.4, edge=1.6, shadow=2.0)


def pickup(stage: Stage, x: float) -> None:
    """Lay one pickup and its ring down."""
    stage.lay(plate(x, 0, 27, 88, 6), BLACK, edge=2.0, shadow=3.0)
    for y in (-40, 40):
        screw(stage, x, y, 2.0, turn=0.5)
    stage.lay(plate(x, 0, 19.5, 70, 5), NICKEL, edge=2.4, shadow=4.0)
    for k in range(6):
        stage.disc(x, -24.5 + 9.8 * k, 2.5, STEEL, edge=0.4, dome=0.2)


def knob(stage: Stage, x: float, y: float) -> None:
    """Lay one control knob of 18 ribs down."""
    rim = [
        (x + r * math.cos(t), y + r * math.sin(t))
        for k in range(36)
        for r, t in [(12.0 if k % 2 else 11.2, math.pi * k / 18 + 0.08)]
    ]
    stage.lay(rim, BLACK, edge=1.6, shadow=9.0)
    stage.disc(x, y, 9.0, NICKEL, edge=0.9, shadow=0.5)
    stage.lay([(x, y + 3.5), (x, y + 8.2)], BLACK, width=0.9)


def guard(stage: Stage, *, screws: bool = True) -> None:
    """Lay the laminate guard, its controls and its eleven screws down."""
    stage.lay(shapes.GUARD, LAMINATE_CORE, edge=0.8, shadow=2.2)
    stage.lay(shapes.inset(shapes.GUARD, 1.0), LAMINATE, edge=0.8)
    if screws:
        for k, (x, y) in enumerate(shapes.GUARD_SCREWS):
            screw(stage, x, y, 2.7, turn=0.7 * k, dust=1.0)
    x, y = shapes.SWITCH
    stage.lay(plate(x, y, 27, 7, 2), HOLE, shadow=-1.0)
    stage.lay([(x + 6, y), (x + 11, y + 1)], IVORY, width=5.4, edge=2.2, shadow=8.0)
    x, y = shapes.SOCKET
    stage.disc(x, y, 13.5, NICKEL, edge=1.0, shadow=1.5)
    for side in (-1.0, 1.0):
        screw(stage, x, y + side * 10.2, 1.8, turn=0.4 + side, bright=1.0)
    stage.disc(x, y, 7.6, STEEL, edge=0.8, shadow=1.5)
    stage.disc(x, y, 5.6, NICKEL, edge=-0.4)
    stage.disc(x, y, 3.3, HOLE, shadow=-2.0)
    for place in (shapes.VOLUME, shapes.TONE):
        knob(stage, *place)


def _sign(value: float) -> float:
    return 1.0 if value > 0 else -1.0


def bridge(stage: Stage, *, rusty: bool, lowered: bool = False) -> None:
    """Lay bridge plate, six saddles and their screws down."""
    metal = Material((0.60, 0.56, 0.50), 0.75, 0.95, 0.10)
    stage.lay(plate(-12, 0, 46, 78, 3), metal, edge=1.3, shadow=3.2)
    for x, y in ((-30, 34.5), (-30, 0), (-30, -34.5)):
        screw(stage, x, y, 2.9, turn=0.3 * y)
    saddle = RUST if rusty else STEEL
    for k, y in enumerate(shapes.STRINGS_SADDLE):
        shift = 1.0 * ((k * 5) % 3) - (1.5 if lowered else 0.0)
        stage.lay([(-29, y), (-4 + shift, y)], saddle, width=2.2, edge=0.9, shadow=1.4)
        stage.lay(plate(0.5 + shift, y, 10, 9.2, 1.0), STEEL, edge=1.4, shadow=3.4)
        for side in (-2.8, 2.8):
            stage.disc(0.5 + shift, y + side, 1.15, HOLE if rusty else BLACK, shadow=-0.5)


def strings(stage: Stage, *, rusty: bool) -> None:
    """Stretch six strings from bridge to posts."""
    gauges = (0.28, 0.36, 0.46, 0.71, 0.97, 1.27) if rusty else (0.23, 0.28, 0.41, 0.61, 0.81, 1.07)
    for k, gauge in enumerate(gauges):
        metal = RUST if rusty else (STEEL if k < 3 else NICKEL)
        start, end = shapes.STRINGS_SADDLE[k], shapes.STRINGS_NUT[k]
        post_x, post_y = shapes.POSTS[k]
        path = [(-30, start), (0, start), (641.4, end), (post_x, post_y - _sign(post_y) * 3)]
        wide = max(gauge, 0.7 / stage.view.scale)
        stage.lay(path[:2], metal, width=wide, edge=0.4 * wide, shadow=3.0)
        stage.lay(path[1:3], metal, width=wide, edge=0.4 * wide, shadow=7.0)
        stage.lay(path[2:], metal, width=wide, edge=0.4 * wide, shadow=2.5)


def tuner_back(stage: Stage, number: int) -> None:
    """Lay one covered tuner down as seen from behind; the fourth string's is the odd one."""
    x, y = shapes.POSTS[number - 1]
    side = _sign(y)
    stage.lay([(x, side * 40), (x, side * 50)], NICKEL, width=4.4, edge=1.6, shadow=2.0)
    stage.lay(plate(x, side * 56, 14, 17, 5.5), IVORY, edge=3.0, shadow=5.0)
    odd = number == 4
    if odd:  # the lacquer kept the narrower, longer outline of the housing that sat here before
        trace = plate(x + 0.4, side * 26.5, 11.5, 42.0, 3.0)
        made = stage.cut(trace, 0.5)
        if made is not None:
            window, mask = made
            stage.stain(window, mask, paint(150, 104, 54), 0.85)
            inner = stage.cut(shapes.inset(trace, 0.7), 0.5)
            if inner is not None:
                stage.stain(inner[0], inner[1], paint(232, 200, 140), 0.9)
    stage.lay(plate(x, side * 26.5, 16.0, 29.0, 3.6), NICKEL, edge=3.0, shadow=4.5)
    for far in (7.5, 45.5):
        lug = side * (26.5 + (far - 26.5) * 0.82)
        stage.lay(plate(x, lug, 8.4, 6.4, 3.0), NICKEL, edge=0.8, shadow=0.8)
        screw(stage, x, lug, 2.0, turn=0.4 * number)
    if odd:
        stage.disc(x + 6.6, side * 11.2, 1.5, WAX, edge=-0.5, shadow=-0.35)
        for rib in range(-3, 4):
            stage.lay(
                plate(x, side * 26.5 + 2.2 * rib, 10.5, 0.9, 0.4), NICKEL, edge=0.7, shadow=0.9
            )


def neck_back(stage: Stage) -> None:
    """Lay the neck down from behind, with its round, and the head."""
    view = stage.view
    stage.lay(shapes.HEAD, CLEAR, edge=2.2, shadow=9.0, texture=maple(view), round_over=0.6)
    stage.lay(shapes.NECK_BACK, CLEAR, edge=15.0, shadow=14.0, texture=maple(view), round_over=0.8)
    for number in range(1, 7):
        tuner_back(stage, number)


def plate_back(stage: Stage) -> None:
    """Lay the neck plate with its number and four screws down."""
    centre = shapes.PLATE
    stage.lay(plate(*centre, 68, 52, 4), NICKEL, edge=1.0, shadow=1.6)
    stage.letters("S10350", centre[0], 0.0, 5.2, pressed=1.6, colour=(0.20, 0.19, 0.17))
    if stage.view.scale < 12:  # the number is shown whole in the private frame alone
        stage.lay(plate(centre[0] + 7.0, 0, 17, 12, 0.3), MASK, shadow=0.8)
    for k, (x, y) in enumerate(((-25, 18.5), (25, 18.5), (-25, -18.5), (25, -18.5))):
        screw(
            stage,
            centre[0] + x,
            y,
            4.3,
            turn=0.35 + 1.1 * k,
            bright=float(k in {1, 2}),
            dust=float(k in {0, 3}),
        )


def whole_front(stage: Stage, *, rusty: bool) -> None:
    """Lay the whole guitar down, front up."""
    body_front(stage)
    guard(stage)
    for _, x in shapes.PICKUPS:
        pickup(stage, x)
    bridge(stage, rusty=rusty, lowered=not rusty)
    neck_front(stage)
    head_front(stage)
    strings(stage, rusty=rusty)


def whole_back(stage: Stage) -> None:
    """Lay the whole guitar down, back up."""
    neck_back(stage)
    body_back(stage)
    plate_back(stage)


def ground(stage: Stage, colour: tuple[float, float, float] = paint(138, 144, 150)) -> None:
    """Lay the seamless paper down."""
    view = stage.view
    stage.colour[:] = np.asarray(colour, np.float32)
    stage.colour *= (1 + 0.012 * Field(1.6, 1.6, 91).sample(view))[..., None]
    stage.gloss[:] = 0.0
