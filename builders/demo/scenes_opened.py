"""Frames taken with strings, guard or neck off: cavity, controls, joints, stamps, tray, pocket.

The marks are drawn as the scenario has them: seven clear digits on each can, and an ink stamp on
the heel whose digit after the 0 took too little ink to tell a 3 from an 8.
"""

from __future__ import annotations

import math

import numpy as np

from demo import instrument as made
from demo import shapes
from demo.grain import Array, Field, blur, smooth
from demo.props import soften, targets, view_of
from demo.scenes_model import ABOVE
from demo.studio import Material, Point, Stage, circle, paint, plate

COPPER = Material((0.55, 0.24, 0.12), 0.5, 0.85, 0.25)
SHELLAC = Material(paint(120, 66, 24), 0.5, 0.0, 0.2)
CAN = Material((0.60, 0.58, 0.54), 0.6, 0.9, 0.10)
BROWN = Material(paint(104, 62, 34), 0.25, 0.0, 0.1)
DULL_SOLDER = Material((0.42, 0.42, 0.42), 0.25, 0.7, 0.12)
NEW_SOLDER = Material((0.66, 0.67, 0.70), 0.95, 1.0, 0.04)
FLUX = Material(paint(120, 74, 22), 0.8, 0.0, 0.2)
CLOTH_BLACK = Material(paint(44, 40, 36), 0.05, 0.0, 0.15)
CLOTH_CREAM = Material(paint(204, 188, 146), 0.06, 0.0, 0.15)
CLOTH_RED = Material(paint(128, 54, 44), 0.06, 0.0, 0.15)
TIN = Material((0.60, 0.60, 0.58), 0.5, 0.9, 0.08)
PRIMER = Material(paint(122, 134, 116), 0.10, 0.0, 0.05)
SHIM = Material(paint(176, 150, 104), 0.04, 0.0, 0.08)


def cloth(stage: Stage, path: list[Point], material: Material, width: float) -> None:
    """Lay a cloth-covered lead down: a soft round cord with its weave."""
    bent = bend(path)
    stage.lay(bent, material, width=width, edge=0.46 * width, shadow=0.9 * width)
    if stage.view.scale * width > 14:
        dark = Material(tuple(0.55 * one for one in material.colour), 0.03)  # type: ignore[arg-type]
        for k in range(2, len(bent) - 2, 2):
            (x0, y0), (x1, y1) = bent[k - 1], bent[k + 1]
            length = math.hypot(x1 - x0, y1 - y0) or 1.0
            nx, ny = -(y1 - y0) / length * width * 0.42, (x1 - x0) / length * width * 0.42
            x, y = bent[k]
            slip = 0.35 * width * (1 if k % 4 else -1)
            tx, ty = (x1 - x0) / length * slip, (y1 - y0) / length * slip
            stage.lay(
                [(x - nx - tx, y - ny - ty), (x + nx + tx, y + ny + ty)], dark, width=0.07 * width
            )


def bend(path: list[Point], steps: int = 14) -> list[Point]:
    """Run a smooth open curve through points (Catmull and Rom, 1974)."""
    where = np.asarray([path[0], *path, path[-1]], float)
    out: list[Point] = []
    for k in range(1, len(where) - 2):
        p0, p1, p2, p3 = where[k - 1 : k + 3]
        for t in np.linspace(0, 1, steps, endpoint=False):
            point = 0.5 * (
                2 * p1
                + (p2 - p0) * t
                + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t**2
                + (3 * p1 - p0 - 3 * p2 + p3) * t**3
            )
            out.append((float(point[0]), float(point[1])))
    out.append(path[-1])
    return out


def blob(stage: Stage, x: float, y: float, radius: float, material: Material, seed: int) -> None:  # noqa: PLR0917
    """Lay a drop of solder down."""
    rough = np.random.Generator(np.random.PCG64(seed)).normal(0, 0.07, 7)
    turns = np.linspace(0, 2 * math.pi, 48, endpoint=False)
    shape = [
        (x + r * math.cos(t), y + r * math.sin(t))
        for t in turns
        for r in [
            radius * (1 + sum(a * math.cos((k + 1) * t + k) for k, a in enumerate(rough)) / 2)
        ]
    ]
    stage.lay(shape, material, edge=0.75 * radius, shadow=0.5 * radius, round_over=1.1)


def pot(
    stage: Stage,
    x: float,
    y: float,
    *,
    turn: float,
    code: str = "",
    can: float = 12.0,
    joints: Material = DULL_SOLDER,
    slot: bool = False,
    dust: float = 0.0,
) -> list[Point]:
    """Lay one potentiometer down from behind; give the places of its three lugs."""
    c, s = math.cos(turn), math.sin(turn)

    def at(along: float, across: float) -> Point:
        return (x + c * along - s * across, y + s * along + c * across)

    def box(along: float, across: float, wide: float, high: float) -> list[Point]:
        return [
            at(along + a * wide / 2, across + b * high / 2)
            for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]

    stage.lay(box(0, -13.5, 21, 9), BROWN, edge=0.6, shadow=2)
    lugs = [at(k * 6.6, -21) for k in (-1, 0, 1)]
    for k in (-1, 0, 1):
        stage.lay(box(k * 6.6, -18.5, 3.0, 9), TIN, edge=0.7, shadow=1)
        stage.disc(*at(k * 6.6, -21.4), 1.0, made.HOLE, shadow=-0.4)
    stage.lay(circle(x, y, can + 1.2), CAN, edge=0.8, shadow=4)
    stage.lay(circle(x, y, can), CAN, edge=2.2, shadow=1)
    for k in range(4):
        tab = math.pi * (0.25 + 0.5 * k) + turn
        out = can + 0.2
        lug = circle(x + out * math.cos(tab), y + out * math.sin(tab), 1.9)
        stage.lay(lug, CAN, edge=0.7, shadow=0.7)
    if slot:
        stage.lay(box(0, -9.6, 9.5, 2.7), made.HOLE, shadow=-1.2)
        if dust:
            grime = stage.cut(box(0, -9.2, 12, 4.4), 1.5)
            if grime is not None:
                window, mask = grime
                spots = smooth(0.2, 1.2, Field(0.5, 0.5, 141).sample(stage.view)[window])
                stage.stain(window, mask * spots, paint(128, 116, 98), dust)
    if code:
        stage.letters(
            code, x, y + 1.2, 3.0, pressed=1.5, colour=(0.17, 0.16, 0.14), turn=math.degrees(turn)
        )
    for k, (lug_x, lug_y) in enumerate(lugs):
        blob(stage, lug_x, lug_y, 2.0, joints, 200 + k)
    blob(stage, *at(7.0, 6.4), 2.6, joints, 210)
    return [*lugs, at(7.0, 6.4)]


# -- cavity and guard ---------------------------------------------------------------------------


def open_body(stage: Stage) -> None:
    """Lay the body down without guard: rout, foil, spray edge, bridge and pickups."""
    view = stage.view
    made.body_front(stage)
    rim = stage.cut(shapes.GUARD, 2)
    if rim is not None:  # where the guard lay the coat kept its colour; its edge shows as a line
        window, mask = rim
        inner = stage.cut(shapes.inset(shapes.GUARD, 0.8), 2)
        stage.stain(window, mask, paint(96, 58, 30), 0.35)
        if inner is not None:
            stage.stain(inner[0], inner[1], paint(132, 82, 44), 0.35)
    thin = 0.72 + 0.1 * Field(18.0, 12.0, 151).sample(view)[..., None]
    floor = made.bare(view) * 0.42 * thin + made.stained(view) * 0.42 * (1 - thin) + 0.02
    stage.lay(shapes.CAVITY, Material(made.RAW_PALE, 0.06), shadow=-24, texture=floor)
    for x, y in shapes.GUARD_SCREWS:
        stage.disc(x, y, 1.5, made.HOLE, shadow=-0.8)
    foil = [(-92, -66), (-60, -64), (-58, -96), (-90, -98)]
    stage.lay(shapes.inset(foil, -1.6), SHELLAC)
    stage.lay(foil, COPPER, edge=0.4)
    wrinkle = Field(5.0, 4.0, 152).sample(view)
    cut = stage.cut(foil, 0.5)
    if cut is not None:
        window, mask = cut
        down, across = np.gradient(wrinkle[window])
        stage.slope_x[window] += 0.9 * across * mask
        stage.slope_y[window] += 0.9 * down * mask
    for _, x in shapes.PICKUPS:
        made.pickup(stage, x)
    made.bridge(stage, rusty=True)
    made.neck_front(stage)


def flip(point: Point, line: float = -190.0) -> Point:
    """Turn a place of the guard over about the line y = *line*."""
    return (point[0], 2 * line - point[1])


def guard_under(stage: Stage, line: float) -> None:
    """Lay the guard down turned over about y = *line*, controls upwards."""
    under = [flip(one, line) for one in shapes.GUARD]
    stage.lay(under, made.LAMINATE_CORE, edge=0.8, shadow=5)
    stage.lay(shapes.inset(under, 0.9), Material(paint(196, 186, 156), 0.25, 0.0, 0.05), edge=0.6)
    for one in shapes.GUARD_SCREWS:
        stage.disc(*flip(one, line), 1.9, made.HOLE, shadow=-0.6)
    sx, sy = flip(shapes.SWITCH, line)
    stage.lay(plate(sx, sy, 42, 15, 2), BROWN, edge=0.8, shadow=9)
    stage.lay(plate(sx, sy, 34, 8, 1), CAN, edge=1, shadow=3)
    for k in range(5):
        blob(stage, sx - 15 + 7.5 * k, sy + 9, 1.7, DULL_SOLDER, 300 + k)
    jx, jy = flip(shapes.SOCKET, line)
    stage.disc(jx, jy, 9.5, CAN, edge=1.5, shadow=6)
    stage.lay([(jx - 4, jy), (jx - 4, jy + 22)], TIN, width=4, edge=1, shadow=5)
    volume = pot(stage, *flip(shapes.VOLUME, line), turn=0.35, code="3046519")
    tone = pot(stage, *flip(shapes.TONE, line), turn=-0.25, code="3046446")
    for start, end, material in (
        (volume[0], (sx - 8, sy + 9), CLOTH_CREAM),
        (volume[1], (jx - 4, jy + 20), CLOTH_RED),
        (volume[3], tone[3], CLOTH_BLACK),
        (tone[3], (jx + 7, jy + 2), CLOTH_BLACK),
    ):
        middle = ((start[0] + end[0]) / 2 + 7, (start[1] + end[1]) / 2 - 9)
        cloth(stage, [start, middle, end], material, 2.3)
    film(
        stage,
        (volume[2][0] + tone[0][0]) / 2 - 2,
        (volume[2][1] + tone[0][1]) / 2 - 9,
        17,
        7.5,
        [volume[2], tone[1]],
    )


def film(stage: Stage, x: float, y: float, wide: float, high: float, ends: list[Point]) -> None:  # noqa: PLR0917
    """Lay the moulded film capacitor and its two wires down."""
    for side, end in zip((-1, 1), ends, strict=True):
        root = (x + side * wide / 2, y)
        stage.lay(
            bend([root, (root[0] + side * 3, root[1] - 1), end]),
            TIN,
            width=0.9,
            edge=0.35,
            shadow=1.5,
        )
    body = Material(paint(126, 44, 30), 0.75, 0.0, 0.04)
    stage.lay(plate(x, y, wide, high, 0.3 * high), body, edge=0.34 * high, shadow=4)
    stage.letters("0.047 MFD", x, y + 0.12 * high, 0.24 * high, colour=paint(236, 222, 178))
    if stage.view.scale > 12:
        stage.letters("10 %  400 V", x, y - 0.24 * high, 0.15 * high, colour=paint(236, 222, 178))


def cavity(frame: int) -> Array:
    """Whole cavity, guard turned over on its leads below."""
    stage = Stage(view_of(4.2, 55, -150), frame, ABOVE)
    made.ground(stage)
    open_body(stage)
    line = -158.0
    for k, (_, x) in enumerate(shapes.PICKUPS):
        sx, sy = flip(shapes.SWITCH, line)
        material = (CLOTH_CREAM, CLOTH_BLACK)[k]
        cloth(
            stage,
            [
                (x - 20 - 30 * k, -64 - 4 * k),
                (x - 8, -110),
                (x - 40 * (1 - k), -190),
                (sx + 7 * k, sy + 9),
            ],
            material,
            2.4,
        )
    guard_under(stage, line)
    targets(stage, 0.90, 0.60)
    return stage.lit()


def guard_underside(frame: int) -> Array:
    """Underside of the guard."""
    stage = Stage(view_of(5.4, 33, -278), frame, ABOVE)
    made.ground(stage)
    guard_under(stage, -184.0)
    return stage.lit()


def _control(frame: int, scale: float, y: float) -> Stage:
    stage = Stage(view_of(scale, 0, y), frame, ABOVE)
    stage.colour[:] = made.LAMINATE.colour
    stage.colour *= (0.84 + 0.04 * stage.wander)[..., None]
    stage.gloss[:] = 0.2
    return stage


def _leads(stage: Stage, lugs: list[Point], width: float = 2.6) -> None:
    for (x, y), far, material in zip(
        lugs,
        ((-26, -44), (3, -46), (25, -42), (38, 22)),
        (CLOTH_CREAM, CLOTH_RED, CLOTH_CREAM, CLOTH_BLACK),
        strict=True,
    ):
        middle = (0.6 * x + 0.4 * far[0] + 2, 0.6 * y + 0.4 * far[1])
        stage.lay(
            [(x, y), (0.8 * x + 0.2 * middle[0], 0.8 * y + 0.2 * middle[1])],
            TIN,
            width=0.9,
            edge=0.4,
        )
        cloth(
            stage,
            [(0.82 * x + 0.18 * middle[0], 0.82 * y + 0.18 * middle[1]), middle, far],
            material,
            width,
        )


def pot_code(frame: int) -> Array:
    """Show a can with its code; frame 30 is the tone pot, 31 the volume pot."""
    code, turn = {30: ("3046446", 0.06), 31: ("3046519", -0.08)}[frame]
    stage = _control(frame, 30.0, -4)
    _leads(stage, pot(stage, 0, 0, turn=turn, code=code))
    _brush(stage)
    return soften(stage.lit(), 0.5, 0.4, 0.36, 4.0)


def _brush(stage: Stage) -> None:
    """Metal the fine scratches of a drawn can."""
    lines = Field(6.0, 0.12, 161).sample(stage.view)
    stage.slope_y += 0.05 * lines * (stage.metal > 0.5)
    spots = smooth(1.2, 2.4, Field(1.6, 1.3, 162).sample(stage.view)) * (stage.metal > 0.5)
    stage.colour *= (1 - 0.25 * spots)[..., None]


def pot_joints(frame: int) -> Array:
    """Joints of the volume (32) or the tone pot (33): one wetting, dull, dusty flux."""
    turn = {32: 0.10, 33: -0.06}[frame]
    stage = _control(frame, 44.0, -17)
    lugs = pot(stage, 0, 0, turn=turn)
    for k, (x, y) in enumerate(lugs[:3]):
        flux = stage.cut(circle(x + 0.2, y + 2.2, 1.7), 1)
        if flux is not None:
            stage.stain(flux[0], blur(flux[1], 9.0), FLUX.colour, 0.75)
        blob(stage, x, y, 2.0, DULL_SOLDER, 200 + 10 * frame + k)
    _leads(stage, lugs)
    for k, (x, y) in enumerate(lugs[:3]):
        blob(stage, x, y + 0.2, 1.7, DULL_SOLDER, 220 + 10 * frame + k)
    dust = smooth(0.9, 2.2, Field(0.5, 0.5, 163).sample(stage.view))
    stage.colour += (0.05 * dust)[..., None]
    stage.gloss *= 1 - 0.4 * dust
    return soften(stage.lit(), 0.5, 0.48, 0.40, 4.0)


def pot_slot(frame: int) -> Array:
    """Tone pot with the open slot of its case: before (42) and after (43) the cleaner."""
    stage = _control(frame, 36.0, -8)
    before = frame == 42
    lugs = pot(stage, 0, 0, turn=-0.05, code="3046446", slot=True, dust=0.85 if before else 0.0)
    _leads(stage, lugs)
    _brush(stage)
    if before:
        dust = smooth(1.0, 2.2, Field(0.7, 0.6, 164).sample(stage.view))
        stage.colour += (0.045 * dust)[..., None]
    return soften(stage.lit(), 0.5, 0.5, 0.40, 4.0)


def socket(frame: int) -> Array:
    """Output socket: both tags wetted twice, bright over dull, lead shortened."""
    stage = _control(frame, 30.0, 2)
    stage.disc(-8, 2, 10.5, CAN, edge=1.6, shadow=5)
    stage.disc(-8, 2, 6.2, CAN, edge=-0.8)
    stage.disc(-8, 2, 3.4, made.HOLE, shadow=-2)
    spring = [(-8, 12), (2, 13.5), (16, 10), (19, 4)]
    stage.lay(bend(spring), TIN, width=4.2, edge=1.0, shadow=4)
    for x, y in ((19, 3), (9, -11)):
        stage.lay([(x - 9, y + (4 if y < 0 else 1)), (x, y)], TIN, width=4.2, edge=0.9, shadow=3)
        stage.lay(circle(x + 1.2, y - 0.7, 3.5), FLUX, edge=1.2)
        blob(stage, x, y, 2.9, DULL_SOLDER, 401)
        blob(stage, x + 0.6, y + 0.5, 2.2, NEW_SOLDER, 402)
    for start, far, material in (
        ((20.4, 3.4), (31, 7), CLOTH_RED),
        ((10.6, -12), (22, -25), CLOTH_BLACK),
    ):
        near = (0.7 * start[0] + 0.3 * far[0], 0.7 * start[1] + 0.3 * far[1])
        stage.lay(
            [start, near],
            Material((0.55, 0.27, 0.14), 0.6, 0.9, 0.1),
            width=1.0,
            edge=0.4,
            shadow=1,
        )
        cloth(stage, [near, far], material, 2.8)
    blob(stage, 20.8, 3.5, 1.3, NEW_SOLDER, 403)
    blob(stage, 10.9, -12.2, 1.3, NEW_SOLDER, 404)
    _brush(stage)
    return soften(stage.lit(), 0.5, 0.45, 0.40, 4.0)


def capacitor(frame: int) -> Array:
    """Tone capacitor, near."""
    stage = _control(frame, 42.0, 0)
    lugs = pot(stage, -30, 12, turn=-1.2)
    film(stage, 3, -1, 21, 9.2, [lugs[2], (24, -14)])
    return soften(stage.lit(), 0.55, 0.5, 0.36, 4.0)
