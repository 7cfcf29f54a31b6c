"""Frames of bare wood and of things laid out: cavity wall, tray, heel stamp, pocket, strings."""

from __future__ import annotations

import math

import numpy as np

from demo import instrument as made
from demo import shapes
from demo.grain import Array, Field, blur, smooth
from demo.props import soften, targets, view_of
from demo.scenes_model import ABOVE, RAKE
from demo.scenes_opened import COPPER, PRIMER, SHELLAC, SHIM, open_body
from demo.scenes_outside import INK, PAPER, _bag
from demo.studio import Material, Stage, paint, plate

TRAY = Material(paint(58, 66, 74), 0.12, 0.0, 0.06)
CHALK = Material(paint(222, 222, 214), 0.03)


def _relief(stage: Stage, strength: float) -> None:
    fibre = Field(24.0, 0.6, 171).sample(stage.view) + 0.6 * Field(9.0, 0.3, 172).sample(stage.view)
    down, across = np.gradient(fibre)
    matt = stage.metal < 0.5
    stage.slope_x += strength * across * matt
    stage.slope_y += strength * down * matt


def cavity_wall(frame: int) -> Array:
    """Wall of the cavity where a pencil mark would stand: none."""
    stage = Stage(view_of(19.0, 0, 30), frame, RAKE)
    wall = made.bare(stage.view) * 0.72
    fog = 0.5 + 0.5 * smooth(-22, 20, stage.view.millimetres()[1] - 30)[..., None]
    stain = np.asarray(paint(150, 98, 56), np.float32)
    stage.colour[:] = wall * (1 - 0.45 * fog**3) + stain * 0.45 * fog**3
    stage.gloss[:] = 0.06
    stage.lay(plate(0, 58, 92, 14), made.COAT, edge=4, shadow=5, texture=made.stained(stage.view))
    for k in range(9):  # chatter of the cutter across the wall
        x = -40 + 9.4 * k
        stage.slope_x += 0.10 * np.exp(-((stage.view.millimetres()[0] - x) ** 2) / 0.5)
    foil = [(-46, 44), (-22, 45), (-21, 8), (-46, 7)]
    stage.lay(shapes.inset(foil, 1.2), SHELLAC)
    stage.lay(shapes.inset(foil, -0.4), SHELLAC)
    stage.lay(shapes.inset(foil, 0.9), COPPER, edge=0.4)
    wrinkle = blur(Field(4.0, 3.0, 173).sample(stage.view), 2)
    down, across = np.gradient(wrinkle)
    stage.slope_x += 3.0 * across * (stage.metal > 0.5)
    stage.slope_y += 3.0 * down * (stage.metal > 0.5)
    _relief(stage, 0.6)
    return stage.lit(ambient=0.2, key=0.9, warmth=0.05)


def grain(frame: int) -> Array:
    """Grain and spray edge under the guard."""
    stage = Stage(view_of(15.0, 70, -66), frame, RAKE)
    made.ground(stage)
    open_body(stage)
    _relief(stage, 0.7)
    return stage.lit(ambient=0.2, key=0.92, warmth=0.05)


def tray(frame: int) -> Array:
    """Eleven guard screws on a map of their holes."""
    stage = Stage(view_of(5.0, 34, -93), frame, ABOVE)
    made.ground(stage, paint(96, 92, 86))
    stage.lay(plate(34, -93, 304, 150, 9), TRAY, edge=5, shadow=6)
    stage.lay(plate(34, -93, 288, 134, 5), TRAY, shadow=-7)
    stage.lay([*shapes.GUARD, shapes.GUARD[0]], CHALK, width=0.8)
    for k, (x, y) in enumerate(shapes.GUARD_SCREWS):
        turn = 0.4 + 1.7 * k
        c, s = math.cos(turn), math.sin(turn)
        stage.lay(
            [(x, y), (x + 11.5 * c, y + 11.5 * s)], made.NICKEL, width=2.4, edge=1.0, shadow=1.8
        )
        for ring in range(5, 11):
            place = (x + ring * c, y + ring * s)
            across = (1.3 * s, 1.3 * c)
            thread = [
                (place[0] - across[0], place[1] + across[1]),
                (place[0] + across[0], place[1] - across[1]),
            ]
            stage.lay(thread, made.STEEL, width=0.45)
        made.screw(stage, x, y, 2.9, turn=turn, dust=1.0)
        side = -1 if y > -80 else 1
        stage.letters(str(k + 1), x - 6.5 * c, y - 6.5 * s + side * 1.5, 4.2, colour=CHALK.colour)
    return stage.lit()


def heel_stamp(frame: int) -> Array:
    """Heel end of the neck: ink stamp, the digit after the 0 under-inked."""
    stage = Stage(view_of(15.5, 2, -8), frame, ABOVE)
    made.ground(stage)
    wood = made.wood(
        stage.view,
        paint(226, 196, 146),
        paint(184, 146, 96),
        seed=23,
        ring_mm=5,
        figure=0.5,
        pores=0.25,
    )
    stage.lay(
        plate(22, 0, 128, 56, 2.5),
        Material(made.MAPLE_PALE, 0.08),
        edge=1.4,
        shadow=6,
        texture=wood,
    )
    for x in (-31.5, 18.5):
        for y in (-18.5, 18.5):
            stage.disc(x, y, 2.2, made.HOLE, shadow=-1.6)
    handled = smooth(0.3, 2.2, Field(20.0, 14.0, 181).sample(stage.view))[..., None]
    stage.colour *= 1 - 0.14 * handled
    ink = paint(38, 40, 74)
    stage.letters("65/0", -15.2, 0.5, 8.2, colour=ink, worn=0.38, turn=1.5)
    stage.letters("R", 8.6, 0.9, 8.2, colour=ink, worn=0.38, turn=1.5)
    # the digit: the right side, common to a 3 and an 8, took some ink; the left side almost none
    weak = 0.78

    def left_faint(mask: Array) -> Array:
        across = np.linspace(0, 1, mask.shape[1], dtype=np.float32)[None, :]
        return np.asarray(mask * (0.26 + 0.74 * smooth(0.28, 0.60, across)) * weak)

    stage.letters("8", -2.2, 0.6, 8.2, colour=ink, worn=0.55, turn=1.5, fade=left_faint)
    _relief(stage, 0.12)
    targets(stage, 0.66, 0.815)
    return soften(stage.lit(), 0.46, 0.5, 0.46, 3.0)


def pocket(frame: int) -> Array:
    """Pocket floor: grey-green primer, shim at the heel end, its outline pressed in."""
    stage = Stage(view_of(13.5, shapes.PLATE[0] - 4, 0), frame, ABOVE)
    made.ground(stage)
    made.body_front(stage)
    for _, x in shapes.PICKUPS:
        made.pickup(stage, x)
    x0, x1 = shapes.HEEL, shapes.JOINT + 1.2
    hole = plate((x0 + x1) / 2, 0, x1 - x0, 57, 1.0)
    stage.lay(hole, PRIMER, shadow=-13)
    brush = Field(3.0, 26.0, 183).sample(stage.view)
    cut = stage.cut(hole, 0.5)
    if cut is not None:
        window, mask = cut
        stage.colour[window] *= (1 + 0.04 * brush[window] * mask)[..., None]
        wear = smooth(1.1, 3.0, Field(3.0, 11.0, 184).sample(stage.view)[window]) * mask
        stage.stain(window, wear, paint(170, 156, 126), 0.30)
    centre = x0 + 11.5
    pressed = plate(centre + 0.9, 0, 15.0, 47.4, 0.8)
    stage.lay(pressed, PRIMER, edge=-0.7, shadow=-0.9, round_over=1.5)
    line = [*pressed, pressed[0]]
    stage.lay(line, Material(paint(84, 96, 80), 0.1), width=0.22)
    turned = [
        (
            centre + math.cos(0.022) * (x - centre) - math.sin(0.022) * y,
            math.sin(0.022) * (x - centre) + math.cos(0.022) * y,
        )
        for x, y in plate(centre - 0.2, 0, 14.0, 46, 0.5)
    ]
    stage.lay(turned, SHIM, edge=0.25, shadow=0.8)
    fibres = Field(2.4, 0.5, 185).sample(stage.view)
    card = stage.cut(turned, 0.5)
    if card is not None:
        stage.colour[card[0]] *= (1 + 0.04 * fibres[card[0]] * card[1])[..., None]
    for dx in (-25.0, 25.0):
        for y in (-18.5, 18.5):
            stage.disc(shapes.PLATE[0] + dx, y, 2.6, made.HOLE, shadow=-2)
    return stage.lit()


def strings_bagged(frame: int) -> Array:
    """Show the removed set, coiled, in a labelled bag."""
    stage = Stage(view_of(7.0, 0, 0), frame, ABOVE)
    made.ground(stage)
    noise = np.random.Generator(np.random.PCG64(28))
    for k, gauge in enumerate((0.28, 0.36, 0.46, 0.71, 0.97, 1.27)):
        turns = np.linspace(0, 2 * math.pi * (2.6 + 0.2 * k), 220)
        radius = 38 + 2.2 * k + 1.6 * np.sin(turns * 0.43 + k) + noise.normal(0, 0.4)
        squash = 0.82 + 0.02 * k
        path = [
            (-18 + 2 * k + r * math.cos(t + k), -4 + k + squash * r * math.sin(t + k))
            for r, t in zip(radius, turns, strict=True)
        ]
        stage.lay(path, made.RUST, width=1.5 * gauge, edge=0.6 * gauge, shadow=1.6)
    stage.lay(plate(58, 30, 54, 34, 1), PAPER, edge=0.3, shadow=0.8)
    for text, y in (("H-0001", 38), ("strings as found", 30), (".011 to .050", 22)):
        stage.letters(text, 58, y, 4.6, colour=INK, worn=0.25)
    _bag(stage, 6, 0, 178, 132)
    return stage.lit()
