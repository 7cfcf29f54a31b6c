"""Frames of the case, the edges, the ends and the heel: what is not seen from straight above."""

from __future__ import annotations

import math

import numpy as np

from demo import instrument as made
from demo import shapes
from demo.grain import Array, Field, View, blur, smooth
from demo.props import soften, targets, view_of
from demo.scenes_model import ABOVE
from demo.studio import Material, Point, Stage, paint, plate

OLIVE = Material(paint(92, 94, 58), 0.12, 0.0, 0.03)
PIPING = Material(paint(64, 58, 40), 0.2)
SLATE = Material(paint(92, 104, 116), 0.03, 0.0, 0.015)
SLATE_DEEP = Material(paint(70, 82, 94), 0.03, 0.0, 0.015)
PAPER = Material(paint(232, 222, 196), 0.04, 0.0, 0.05)
CARD = Material(paint(206, 190, 150), 0.04, 0.0, 0.06)
WEB = Material(paint(96, 40, 36), 0.08, 0.0, 0.12)
PLASTIC = Material(paint(216, 218, 220), 0.9)
INK = paint(34, 42, 92)
BENCH = paint(112, 104, 94)
SEALED_FROM = 49
"""The parcel is closed in frames after this one."""


def _leather(stage: Stage, material: Material, strength: float) -> None:
    """Pebble everything of one material."""
    plain = np.asarray(material.colour, np.float32)
    there = (np.abs(stage.colour / plain - 1).max(axis=2) < 0.3).astype(np.float32)
    bumps = Field(1.1, 1.1, 111).sample(stage.view) + 0.5 * Field(2.6, 2.6, 112).sample(stage.view)
    down, across = np.gradient(bumps)
    stage.slope_x += strength * across * there
    stage.slope_y += strength * down * there


def _latch(stage: Stage, x: float, y: float) -> None:
    stage.lay(plate(x, y, 34, 44, 4), made.BRASS, edge=1.5, shadow=4)
    stage.lay(plate(x, y - 4, 20, 26, 4), made.BRASS, edge=2.5, shadow=5)
    for side in (-12.0, 12.0):
        stage.disc(x + side, y + 17, 2.0, made.BRASS, edge=0.6, dome=0.4)


def case_closed(frame: int) -> Array:
    """Show the case as handed over, standing flat, lid up."""
    stage = Stage(view_of(1.34, 336, 0), frame, ABOVE)
    made.ground(stage, BENCH)
    stage.lay(plate(336, 20, 1070, 420, 46), OLIVE, edge=26, shadow=60, round_over=0.6)
    stage.lay(shapes.inset(plate(336, 20, 1070, 420, 46), 13), PIPING, edge=3, shadow=2)
    stage.lay(shapes.inset(plate(336, 20, 1070, 420, 46), 17), OLIVE, edge=8, round_over=0.5)
    for x in (-360.0, -150.0, 150.0, 360.0):
        _latch(stage, 336 + x, -184)
    handle = [(250, -196), (266, -226), (406, -226), (422, -196)]
    stage.lay(handle, Material(paint(48, 34, 24), 0.3), width=17, edge=7, shadow=14)
    for x in (250.0, 422.0):
        stage.lay(plate(x, -196, 26, 20, 4), made.BRASS, edge=2, shadow=3)
    for x in (-525.0, 525.0):
        for y in (-180.0, 220.0):
            stage.disc(336 + x * 0.985, y, 13, made.BRASS, edge=5, shadow=4)
    stage.lay(plate(688, 150, 62, 32, 3), PAPER, shadow=0.8)
    stage.letters("H-0001", 688, 150, 11, colour=INK)
    _leather(stage, OLIVE, 0.10)
    scuffs = smooth(2.0, 3.2, Field(30.0, 7.0, 114).sample(stage.view))
    x, y = stage.view.millimetres()
    top = (np.abs(x - 336) < 500) & (np.abs(y - 20) < 180) & (stage.metal < 0.5)
    stage.colour += (0.05 * scuffs * top)[..., None]
    targets(stage, 0.16, 0.80)
    return stage.lit()


def _shell(stage: Stage) -> None:
    """Lay the open case down: lid above, lower shell below."""
    for y in (318.0, -96.0):
        outer = plate(336, y, 1080, 410, 46)
        stage.lay(outer, OLIVE, edge=14, shadow=40)
        stage.lay(shapes.inset(outer, 12), made.BRASS, edge=1.2)
        stage.lay(shapes.inset(outer, 16), SLATE_DEEP, shadow=-22)
    stage.lay(plate(336, -96, 1030, 360, 40), SLATE, edge=20, shadow=-18)
    stage.lay(shapes.inset(shapes.BODY_IN_CASE, -16), SLATE_DEEP, shadow=-20)
    stage.lay(plate(470, -96, 420, 84, 20), SLATE_DEEP, shadow=-14)
    stage.lay(plate(336, 318, 1030, 360, 40), SLATE, edge=24)
    for x in (60.0, 336.0, 610.0):
        stage.lay([(x, 150), (x, 112)], WEB, width=10, edge=1, shadow=3)
    nap = Field(44.0, 30.0, 117).sample(stage.view) + 0.15 * Field(14.0, 9.0, 116).sample(
        stage.view
    )
    there = np.abs(stage.colour - np.asarray(SLATE.colour, np.float32)).max(axis=2) < 0.1
    stage.colour *= 1 + 0.045 * (nap * there)[..., None]


def _guitar_in_case(stage: Stage, *, rusty: bool) -> None:
    """Put the guitar, drawn on its own stage 96 mm higher, into the lower shell."""
    view = stage.view
    lifted = View(view.width, view.height, view.scale, view.x, view.y + 96, view.behind)
    other = Stage(lifted, 7, ABOVE)
    made.whole_front(other, rusty=rusty)
    mask = np.zeros_like(other.shade)
    for shape in (shapes.BODY, shapes.NECK, shapes.HEAD):
        cut = other.cut(shape, 1.0)
        if cut is not None:
            mask[cut[0]] = np.maximum(mask[cut[0]], cut[1])
    for x, y in shapes.POSTS:
        for part in (
            plate(x, math.copysign(56, y), 14, 17, 5.5),
            plate(x, math.copysign(45, y), 4.4, 10),
        ):
            cut = other.cut(part, 1.0)
            if cut is not None:
                mask[cut[0]] = np.maximum(mask[cut[0]], cut[1])
    everywhere = (slice(None), slice(None))
    stage.lay_mask(everywhere, mask, made.COAT, shadow=14, texture=other.colour)
    for name in ("slope_x", "slope_y", "gloss", "metal"):
        store, new = getattr(stage, name), getattr(other, name)
        store += mask * (new - store)
    stage.shade *= 1 - mask * (1 - other.shade)


def case_open(frame: int) -> Array:
    """Case open: contents in place, the guitar in it; or packed for the store."""
    packed = frame > 40
    stage = Stage(view_of(1.34, 336, 110), frame, ABOVE)
    made.ground(stage, BENCH)
    _shell(stage)
    _guitar_in_case(stage, rusty=not packed)
    if packed:
        _packing(stage)
    else:
        turns = np.linspace(0, 3.2 * math.pi, 90)
        strap = [
            (360 + (46 + 4 * t) * math.cos(t), 8 + (20 + 1.6 * t) * math.sin(t)) for t in turns
        ]
        stage.lay(strap, WEB, width=17, edge=2, shadow=5)
        _arm(stage, 520, -212)
        fold = [(232, -206), (300, -218), (308, -176), (240, -164)]
        stage.lay(fold, PAPER, edge=0.6, shadow=3)
        stage.lay([(236, -186), (304, -197)], Material(paint(190, 178, 150), 0.02), width=1.2)
    return stage.lit()


def loose_bagged(frame: int) -> Array:
    """Arm and old strings beside each other, each under its bag."""
    stage = Stage(view_of(4.2, 0, 0), frame, ABOVE)
    made.ground(stage, BENCH)
    _arm(stage, -72, -2)
    _bag(stage, -74, 4, 210, 76)
    for k, radius in enumerate((34.0, 37.0, 40.0, 43.0)):
        turns = np.linspace(0, 5 * math.pi, 180)
        path = [(104 + radius * math.cos(t + k), 0.84 * radius * math.sin(t)) for t in turns]
        stage.lay(path, made.RUST, width=0.7 + 0.25 * k, edge=0.4, shadow=1.4)
    _bag(stage, 104, 0, 120, 104)
    stage.lay(plate(-72, 74, 96, 26, 2), PAPER, edge=0.4, shadow=0.8)
    stage.letters("H-0001 arm, strings", -72, 74, 6.5, colour=INK)
    targets(stage, 0.16, 0.84)
    return stage.lit()


def parcel(frame: int) -> Array:
    """The box: open with the closed case and padding in it, or closed and sealed."""
    closed = frame > SEALED_FROM
    stage = Stage(view_of(1.22, 336, 20), frame, ABOVE)
    made.ground(stage, BENCH)
    board = Material(paint(172, 134, 92), 0.03, 0.0, 0.05)
    inner = Material(paint(122, 94, 64), 0.02)
    stage.lay(plate(336, 20, 1200, 520, 4), board, edge=4, shadow=60)
    if closed:
        stage.lay(plate(336, 20, 1200, 3, 0.5), inner, shadow=-3)
        tape = Material(paint(196, 176, 128), 0.5)
        stage.lay(plate(336, 20, 1204, 62, 1), tape, edge=0.5, shadow=1)
        stage.lay(plate(336, 20, 62, 524, 1), tape, edge=0.5, shadow=1)
        seal = Material(paint(176, 44, 40), 0.4)
        stage.lay(plate(336, 20, 150, 40, 2), seal, edge=0.5, shadow=1)
        stage.letters("SEAL 0417", 336, 20, 22, colour=paint(244, 240, 232))
        stage.lay(plate(700, 160, 260, 150, 3), PAPER, edge=0.4, shadow=1)
        for text, y in (("H-0001", 200), ("this side up", 160), ("no heat, no frost", 122)):
            stage.letters(text, 700, y, 19, colour=INK)
        return stage.lit()
    stage.lay(plate(336, 20, 1172, 492, 4), inner, shadow=-40)
    foam = Material(paint(226, 228, 226), 0.02, 0.0, 0.12)
    for y in (-202.0, 242.0):
        stage.lay(plate(336, y, 1168, 44, 8), foam, edge=8, shadow=6)
    for x in (-226.0, 898.0):
        stage.lay(plate(x, 20, 44, 400, 8), foam, edge=8, shadow=6)
    stage.lay(plate(336, 20, 1060, 390, 46), OLIVE, edge=24, shadow=26, round_over=0.6)
    stage.lay(shapes.inset(plate(336, 20, 1060, 390, 46), 13), PIPING, edge=3, shadow=2)
    stage.lay(shapes.inset(plate(336, 20, 1060, 390, 46), 17), OLIVE, edge=8, round_over=0.5)
    for x in (-360.0, -150.0, 150.0, 360.0):
        _latch(stage, 336 + x, -158)
    stage.lay(plate(336, 60, 66, 40, 5), PLASTIC, edge=3, shadow=6)
    stage.letters("logger", 336, 60, 11, colour=INK)
    _leather(stage, OLIVE, 0.10)
    return stage.lit()


def _arm(stage: Stage, x: float, y: float) -> None:
    path = [(x - 70, y), (x + 40, y + 4), (x + 78, y + 14), (x + 88, y + 32)]
    stage.lay(path, made.NICKEL, width=6, edge=2.6, shadow=5)
    stage.disc(x - 72, y, 6, made.IVORY, edge=2.6, shadow=4)


def _bag(stage: Stage, x: float, y: float, wide: float, high: float) -> None:
    """Lay a clear bag over what lies there."""
    made_cut = stage.cut(plate(x, y, wide, high, 3), 2)
    if made_cut is None:
        return
    window, mask = made_cut
    stage.stain(window, mask, paint(226, 230, 234), 0.20)
    crease = 0.7 * Field(34.0, 16.0, 121).sample(stage.view) + 0.5 * Field(12.0, 30.0, 122).sample(
        stage.view
    )
    crease = np.abs(np.tanh(1.2 * crease))[window]
    down, across = np.gradient(blur(crease.astype(np.float32), 1.5))
    stage.slope_x[window] += 2.4 * across * mask
    stage.slope_y[window] += 2.4 * down * mask
    stage.gloss[window] += mask * (0.85 - stage.gloss[window]) * 0.8
    ridge = (1 - smooth(0.0, 0.12, crease)) * mask
    stage.colour[window] += (0.10 * ridge)[..., None]
    for edge in (plate(x, y + high / 2 - 3, wide, 5, 1),):
        stage.lay(edge, Material(paint(190, 60, 54), 0.5), edge=1, shadow=1)


def _packing(stage: Stage) -> None:
    foam = Material(paint(60, 62, 66), 0.02, 0.0, 0.1)
    for x in (430.0, 640.0):
        stage.lay(plate(x, -96, 46, 96, 8), foam, edge=6, shadow=8)
        stage.lay(plate(x, -96, 46, 44, 4), SLATE_DEEP, shadow=-6)
    _guitar_strip(stage)
    _arm(stage, 520, -224)
    _bag(stage, 524, -212, 210, 66)
    for k in range(4):
        turns = np.linspace(0, 2 * math.pi, 60)
        ring = [(330 + (26 - k) * math.cos(t), 22 + (24 - k) * math.sin(t)) for t in turns]
        stage.lay(ring, made.RUST, width=0.9, edge=0.4, shadow=1)
    _bag(stage, 330, 24, 92, 84)
    stage.lay(plate(470, 22, 70, 44, 2), PAPER, edge=0.4, shadow=1.5)
    stage.letters("H-0001", 470, 30, 9, colour=INK)
    stage.letters("3279 g", 470, 14, 9, colour=INK)


def _guitar_strip(stage: Stage) -> None:
    """Lay the neck over the foam blocks again."""
    strip = plate(540, -96, 300, 39, 1)
    cut = stage.cut(strip, 1.0)
    if cut is None:
        return
    window, mask = cut
    view = stage.view
    lifted = View(view.width, view.height, view.scale, view.x, view.y + 96, view.behind)
    other = Stage(lifted, 7, ABOVE)
    made.whole_front(other, rusty=False)
    stage.lay_mask(window, mask, made.BOARD, shadow=6, texture=other.colour)
    for name in ("slope_x", "slope_y", "gloss", "metal"):
        store, new = getattr(stage, name)[window], getattr(other, name)[window]
        store += mask * (new - store)


def in_case(frame: int) -> Array:
    """Show the guitar in its case, nearer."""
    stage = Stage(view_of(2.6, 120, -70), frame, ABOVE)
    made.ground(stage, BENCH)
    _shell(stage)
    _guitar_in_case(stage, rusty=True)
    return stage.lit()


def docket(frame: int) -> Array:
    """Show a repair docket of 1988, flat, no serial on it."""
    stage = Stage(view_of(9.5, 6, 0), frame, ABOVE)
    made.ground(stage, paint(126, 130, 134))
    sheet = plate(-6, 4, 118, 96, 0.4)
    stage.lay(sheet, PAPER, edge=0.4, shadow=1.6)
    stain = smooth(0.4, 2.0, Field(26.0, 20.0, 131).sample(stage.view))
    paper = stage.cut(sheet, 0.5)
    if paper is not None:
        window, mask = paper
        stage.colour[window] *= (1 - 0.10 * stain[window] * mask)[..., None]
        across = stage.view.millimetres()[0][window] + 6
        stage.slope_x[window] -= mask * 0.5 * across * np.exp(-(across**2) / 0.8)
    rule = Material(paint(150, 140, 120), 0.02)
    for k in range(6):
        stage.lay([(-58, 22 - 11 * k), (46, 22 - 11 * k)], rule, width=0.25)
    black = paint(46, 42, 40)
    stage.letters("REPAIR DOCKET", -6, 44, 5.4, colour=black)
    stage.letters("No. 417", 34, 34, 3.4, colour=paint(150, 40, 36), worn=0.3)
    written = (
        ("1988", 25.2, -44),
        ("new socket", 14.4, -22),
        ("tested, all working", 3.4, -14),
        ("paid", -18.6, -46),
    )
    for text, y, x in written:
        stage.letters(text, x, y, 5.2, colour=INK, turn=1.5, worn=0.35)
    targets(stage, 0.895, 0.74)
    return stage.lit()


# -- edges and ends ---------------------------------------------------------------------------

THICK = 44.0


def _envelope(treble: bool) -> tuple[Array, Array]:
    """The body's edge on one side: x and y along it."""
    where = np.asarray(shapes.BODY)
    xs = np.linspace(where[:, 0].min() + 1, where[:, 0].max() - 1, 300)
    ys = np.empty_like(xs)
    for k, x in enumerate(xs):
        near = where[np.abs(where[:, 0] - x) < 3.5, 1]
        ys[k] = near.min() if treble else near.max()
    return xs, np.convolve(np.pad(ys, 6, mode="edge"), np.ones(13) / 13, mode="valid")


def _side(stage: Stage, right: float, dark: float) -> None:
    """Lay one slab of the body's side down, from the tail to x = *right*."""
    left = min(x for x, _ in shapes.BODY)
    texture = made.stained(stage.view) * np.float32(dark)
    slab = plate((left + right) / 2, 0, right - left, THICK, 11)
    stage.lay(slab, made.COAT, edge=9, shadow=24, texture=texture, round_over=0.7)


def _edge_view(frame: int, view: View, *, treble: bool) -> Stage:
    """Lay the guitar down as seen along its face: y of the picture is depth, face up."""
    stage = Stage(view, frame, ABOVE)
    made.ground(stage)
    sign = -1.0 if treble else 1.0
    horn = max(x for x, y in shapes.BODY if y > 0)
    shoulder = max(x for x, y in shapes.BODY if y < -60)
    if treble:
        _side(stage, horn, 0.5)  # the far horn, behind the neck
    heel_end = [
        (shapes.HEEL, 5),
        (shapes.JOINT - 4, 6),
        (shapes.JOINT + 14, 7),
        (600, 8),
        (642, 9),
        (642, 22),
        (shapes.HEEL, 22),
    ]
    stage.lay(heel_end, made.CLEAR, edge=5, shadow=10, texture=made.maple(view))
    if treble:
        _side(stage, shapes.JOINT, 0.75)
        _side(stage, shoulder, 1.0)
    else:
        _side(stage, horn, 1.0)
    xs, ys = _envelope(treble)
    x, y = view.millimetres()
    lean = np.interp(x, xs, np.gradient(ys, xs), left=0, right=0).astype(np.float32)
    body = (np.abs(y) < THICK / 2) & (x < (shoulder if treble else horn) - 2)
    stage.slope_x += sign * np.clip(lean, -1.2, 1.2) * -0.5 * body
    stage.lay(
        plate((shapes.HEEL + 642) / 2, 25, 642 - shapes.HEEL, 6, 1),
        made.BOARD,
        edge=1.5,
        texture=made.board(view),
    )
    if not treble:
        for number in (3, 5, 7, 9, 12, 15, 17, 19, 21):
            x = (shapes.fret(number) + shapes.fret(number - 1)) / 2
            stage.disc(x, 24.4, 0.8 if view.scale > 3 else 1.0, made.BRASS)
    for number in range(1, 22):
        stage.lay(plate(shapes.fret(number), 28.5, 2.2, 1.2, 0.5), made.NICKEL, edge=0.4)
    head = [(640, 21), (642, 8), (660, 5), (812, -9), (821, -8), (822, 3), (818, 5), (660, 19)]
    stage.lay(head, made.CLEAR, edge=3, shadow=10, texture=made.maple(view))
    for x, y in shapes.POSTS:
        if (y > 0) == (sign > 0):
            height = 12 - 0.088 * (x - 660)
            stage.lay(plate(x, height + 12, 6, 18, 1), made.STEEL, edge=1.5, shadow=1)
            stage.lay(plate(x, height - 14, 16, 13, 2), made.NICKEL, edge=2, shadow=2)
            stage.lay(plate(x, height - 14, 14, 11, 5), made.IVORY, edge=3, shadow=3)
    stage.lay(plate(-12, 24.5, 46, 6, 1), made.NICKEL, edge=1.2, shadow=2)
    stage.lay(plate(0, 30, 9, 7, 1), made.STEEL, edge=1.2, shadow=1)
    for key in (158.0, 44.0):
        stage.lay(plate(key, 26, 27, 9, 1.5), made.BLACK, edge=1.5, shadow=2)
    if treble:
        for x in (shapes.VOLUME[0], shapes.TONE[0]):
            stage.lay(plate(x, 33, 24, 16, 2), made.BLACK, edge=2, shadow=3)
    for offset in (0.0, 0.8):
        stage.lay(
            [(-30, 27), (0, 34 + offset), (641, 31), (700, 22)], made.RUST, width=0.8, edge=0.3
        )
    return stage


def edge_bass(frame: int) -> Array:
    """Bass edge, side dots towards the camera."""
    return _edge_view(frame, view_of(1.55, 334, 0), treble=False).lit()


def edge_treble(frame: int) -> Array:
    """Treble edge."""
    return _edge_view(frame, view_of(1.55, 334, 0), treble=True).lit()


def heel(frame: int) -> Array:
    """Heel and joint, closed, from the treble side."""
    stage = _edge_view(frame, view_of(9.0, 236, 6), treble=True)
    seam = Material(paint(40, 24, 14), 0.05)
    stage.lay([(shapes.JOINT + 0.4, -20), (shapes.JOINT + 0.4, 21.5)], seam, width=0.4)
    stage.lay([(shapes.HEEL, 22.2), (shapes.JOINT, 22.2)], seam, width=0.5)
    stage.lay(plate(shapes.PLATE[0], -22.8, 68, 2.0, 0.5), made.NICKEL, edge=0.6, shadow=0.8)
    for side in (-25.0, 25.0):
        stage.disc(shapes.PLATE[0] + side, -24.6, 3.6, made.NICKEL, edge=1.4)
    return soften(stage.lit(), 0.52, 0.45, 0.42, 3.0)


def _end_slab(stage: Stage, half: float) -> None:
    wood = made.wood(
        stage.view, made.STAIN_PALE, made.STAIN_DARK, seed=17, ring_mm=4.5, figure=0.8, pores=0.2
    )
    stage.lay(
        plate(0, 0, 2 * half, THICK, 13),
        made.COAT,
        edge=13,
        shadow=26,
        texture=wood,
        round_over=0.8,
    )
    lean = 0.8 * (stage.view.millimetres()[0] / half) ** 3
    x, y = stage.view.millimetres()
    body = (np.abs(y) < THICK / 2) & (np.abs(x) < half - 1)
    stage.slope_x -= (lean * body).astype(np.float32)


def end_lower(frame: int) -> Array:
    """Lower end with its strap button."""
    stage = Stage(view_of(4.3, 0, 0), frame, ABOVE)
    made.ground(stage)
    _end_slab(stage, 172)
    stage.disc(24, 0, 8.0, made.NICKEL, edge=2.5, shadow=9)
    stage.disc(24, 0, 4.6, made.NICKEL, edge=1.2, shadow=1, dome=0.5)
    made.screw(stage, 24, 0, 3.2, turn=0.5)
    stage.lay(plate(0, 25, 78, 6, 1.5), made.NICKEL, edge=1.2, shadow=3)
    for y in shapes.STRINGS_SADDLE:
        stage.lay(plate(y, 30.5, 8.8, 7, 1), made.STEEL, edge=1.2, shadow=1)
    for x in (-88.0, -104.0):
        stage.lay(plate(x, 33, 24, 15, 2), made.BLACK, edge=2, shadow=3)
    return stage.lit()


def end_upper(frame: int) -> Array:
    """From the head towards the body: the head sharp, the body behind it soft."""
    far = Stage(view_of(4.2, 0, 12), frame, ABOVE)
    made.ground(far)
    _end_slab(far, 172)
    far.lay(plate(0, 24.5, 88, 8, 1), made.BLACK, edge=1.5)
    soft = np.stack([blur(one, 7.0) for one in np.moveaxis(far.lit(), 2, 0)], axis=-1)
    near = Stage(view_of(6.6, 0, 4), frame, ABOVE)
    near.lay(
        [(-21, 26), (21, 26), (29, 52), (-29, 52)],
        made.BOARD,
        edge=2,
        texture=made.board(near.view),
    )
    wood = made.wood(
        near.view, made.MAPLE_PALE, made.MAPLE_DARK, seed=29, ring_mm=2.5, figure=0.8, pores=0.1
    )
    parts: list[tuple[list[Point], Material, float, Array | None]] = [
        ([(-21, 26), (21, 26), (29, 52), (-29, 52)], made.BOARD, 2.0, made.board(near.view)),
        ([(-25, 6), (25, 6), (21, 26), (-21, 26)], made.CLEAR, 4.0, made.maple(near.view)),
        (plate(0, 0, 86, 15, 3), made.CLEAR, 2.5, wood),
    ]
    for side in (-1, 1):
        parts.append((plate(side * 56, -1, 17, 15, 5), made.IVORY, 3.0, None))
        parts.append((plate(side * 45.5, -3, 9, 4.4, 1), made.NICKEL, 1.4, None))
        parts.append((plate(side * 27, -12, 16, 11, 2), made.NICKEL, 2.0, None))
        parts.append((plate(side * 25, 12, 7, 13, 1), made.STEEL, 1.5, None))
    mask = np.zeros_like(near.shade)
    for shape, material, edge, texture in parts:
        near.lay(shape, material, edge=edge, shadow=2, texture=texture)
        cut = near.cut(shape, 1)
        if cut is not None:
            mask[cut[0]] = np.maximum(mask[cut[0]], cut[1])
    veil = 1 - 0.55 * np.roll(blur(mask, 26.0), 22, 0) * (1 - mask)
    return soft * (veil * (1 - mask))[..., None] + near.lit() * mask[..., None]
