# ruff: noqa: SLF001 - a second scene of the same world
"""Pairs of visits for ``change_watch.py``, of three worlds: drawn, cast, textured.

*drawn* is ``tests/fakes/two_visits.py``; *cast* is ``relief_world.py`` in ordinary light (lamps of
finite size cast shadows and shine; what stands up is not displaced by a camera that moved);
*textured* is ``textured_faces.py``. Two photographs a visit, other light in each. A mark has at
least 3 of the 200 steps of the frame's longer side.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

import relief_world as world
import textured_faces as textured
from fakes import two_visits as drawn

KINDS = ("chip", "scratch", "stain")
STEP = world.WIDTH / 200
NEAR = 0.022
"""Share of the width by which a place may lie beside the end of a mark and be taken for it."""
GREY = 1 / 3
"""Share of marks without colour where more than one round of them is planted."""


@dataclass(frozen=True)
class Planted:
    """A mark: place and length as shares of the first photograph's width, contrast in log light."""

    kind: str
    x: float
    y: float
    length: float
    contrast: float

    def near(self, x: float, y: float) -> bool:
        """Whether a place, in shares of the width, is taken for this mark."""
        return bool(np.hypot(x - self.x, y - self.y) < self.length / 2 + NEAR)


@dataclass(frozen=True)
class Pair:
    """Two visits, and what was planted between them."""

    before: list[np.ndarray]
    after: list[np.ndarray]
    marks: list[Planted]


def _greyed(before: np.ndarray, now: np.ndarray) -> np.ndarray:
    """The change of *now* in brightness alone."""
    return before * ((now.mean(axis=2) + 1e-4) / (before.mean(axis=2) + 1e-4))[..., None]


def cast_pair(seed: int, *, marked: bool, rounds: int = 1) -> Pair:
    """One pair of the world of cast light."""
    heights, ground, coat, rng = scene(seed)
    later, marks = ground.copy(), []
    grey = np.random.default_rng([seed, 55])
    for kind in KINDS * rounds * marked:
        before = later.copy()
        one = plant(rng, later, coat, marks, kind)
        marks += [one] if one else []
        if rounds > 1 and grey.random() < GREY:
            later = _greyed(before, later).astype(np.float32)
    shots = []
    for face in (ground, later):
        begun = rng.uniform(0, 360)
        shots.append([photograph(rng, heights, face, begun + 120 * k) for k in range(2)])
    wide = world.WIDTH
    planted = [Planted(kind, x / wide, y / wide, long / wide, c) for kind, x, y, long, c in marks]
    return Pair(*shots, planted)


def drawn_pair(seed: int, *, marked: bool, rounds: int = 1) -> Pair:
    """One pair of the world of drawn faces."""
    face, rng = drawn.make_face(seed), np.random.default_rng([seed, 3])
    later = face.copy()
    grey = np.random.default_rng([seed, 55])
    for kind in KINDS * rounds * marked:
        was = later.albedo.copy()
        drawn.plant(later, rng, kind)
        if rounds > 1 and grey.random() < GREY:
            later.albedo = _greyed(was, later.albedo).astype(np.float32)
    before, after = drawn.visit(face, rng), drawn.visit(later, rng)
    wide = before[0].picture.shape[1]
    planted = [
        Planted(
            one.kind,
            *(v / wide for v in before[0].at(one.x, one.y)),
            one.length * drawn.PER_MM / wide,
            one.contrast,
        )
        for one in later.marks
    ]
    return Pair([one.picture for one in before], [one.picture for one in after], planted)


def textured_pair(seed: int, *, marked: bool, folder: str = "") -> Pair:
    """One pair of the world of photographs."""
    rng = np.random.default_rng([seed, 905])
    face = textured.make_face(rng, folder)
    first = [textured.photograph(rng, face, folder) for _ in range(2)]
    marks: list[textured.Mark] = []
    if marked:
        for kind in KINDS:
            one = textured.plant(rng, face, marks, kind)
            marks += [one] if one else []
    last = [textured.photograph(rng, face, folder)[0] for _ in range(2)]
    planted = []
    for kind, x, y, long, contrast in marks:
        u, v, w = first[0][1] @ (x, y, 1)
        wide = textured.WIDE
        planted.append(Planted(kind, u / w / wide, v / w / wide, long / wide, contrast))
    return Pair([one[0] for one in first], last, planted)


WORLDS: dict[str, Callable[..., Pair]] = {
    "drawn": drawn_pair,
    "cast": cast_pair,
    "textured": textured_pair,
}


def scene(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.random.Generator]:
    """Heights, colour of the ground, bare coat, and the generator that goes on."""
    rng = np.random.default_rng([seed, 71])
    outline = world._outline(rng)
    body = world._fill(outline)
    bare, _ = world._relief(rng, body, outline, contour=bool(rng.random() < 0.3))
    heights, material = bare.copy(), np.zeros(body.shape, np.uint8)
    shape = (world.HEIGHT, world.WIDTH)
    hue = rng.uniform((0.15, 0.08, 0.03), (0.7, 0.5, 0.35)).astype(np.float32)
    grain = 1 + rng.uniform(0.02, 0.1) * world._smooth(rng, shape, 90)
    ground = np.full((*shape, 3), rng.uniform(0.02, 0.2), np.float32)
    ground *= 1 + 0.05 * world._smooth(rng, shape, 120)[..., None]
    ground[body] = (hue * grain[..., None])[body]
    for k, (_, polygon, high) in enumerate(world._parts(rng, body, rng.uniform(6, 16)), start=1):
        mask = world._fill(polygon)
        heights[mask] = 40 + high
        material[mask] = k
        ground[mask] = rng.uniform(0.02, 0.75)
    for _, polygon, high in world._strings():
        mask = world._fill(polygon)
        material[mask], ground[mask] = 255, 0.45
        heights[mask] = 40 + high
    coat = body & (material == 0)
    for _ in range(int(rng.integers(3, 12))):
        plant(rng, ground, coat, [], str(rng.choice(KINDS)))
    return heights, np.clip(ground, 0.005, 1).astype(np.float32), coat, rng


def plant(rng, ground, coat, taken, kind: str) -> tuple[str, float, float, float, float] | None:
    """Put a mark on the coat, in place: kind, place, length in pixels, contrast in log light."""
    free = cv2.distanceTransform(coat.astype(np.uint8), cv2.DIST_L2, 5) > 8 * STEP
    for _, x, y, _, _ in taken:
        cv2.circle(mask := np.ones(coat.shape, np.uint8), (int(x), int(y)), int(14 * STEP), 0, -1)
        free &= mask > 0
    rim = round(0.12 * world.HEIGHT)
    free[:rim], free[-rim:], free[:, :rim], free[:, -rim:] = False, False, False, False
    ys, xs = np.nonzero(free)
    if not len(ys):
        return None
    k = int(rng.integers(len(ys)))
    x, y, long = float(xs[k]), float(ys[k]), float(rng.uniform(3, 10) * STEP)
    before = ground.copy()
    if kind == "scratch":
        canvas = np.zeros(coat.shape, np.uint8)
        a = rng.uniform(0, np.pi)
        reach, at = long / 2 * np.array([np.cos(a), np.sin(a)]), np.array([x, y])
        ends = np.round(16 * np.array([at - reach, at + reach])).astype(int)
        cv2.line(canvas, ends[0].tolist(), ends[1].tolist(), 255, 1, cv2.LINE_AA, 4)
        share = canvas.astype(np.float32)[..., None] / 255 * np.float32(rng.uniform(0.4, 0.9))
        ground += share * (np.float32(0.6 if ground[coat].mean() < 0.25 else 0.05) - ground)
    else:
        blob = world._fill(world._blob(rng, x, y, long / 2 / world.PER_MM)) & coat
        soft = 0.6 if kind == "chip" else rng.uniform(2, 8)
        share = cv2.GaussianBlur(blob.astype(np.float32), (0, 0), soft)[..., None]
        if kind == "chip":
            ground += share * (np.array([0.6, 0.44, 0.26], np.float32) - ground)
        else:
            tint = rng.uniform(0.55, 0.85) * np.array([1, rng.uniform(0.85, 1), 0.85])
            ground *= 1 + share * (tint.astype(np.float32) - 1)
    logs = [
        np.log(cv2.GaussianBlur(one, (0, 0), 0.22 * STEP).mean(axis=2) + 0.01)
        for one in (ground, before)
    ]
    contrast = float(np.abs(logs[0] - logs[1]).max())
    return kind, x, y, long, contrast


def photograph(rng, heights, ground, azimuth: float) -> np.ndarray:
    """One photograph in ordinary light."""
    light, shine = world._light(rng, heights, azimuth, float(rng.uniform(0.05, 0.8)))
    ambient = rng.uniform(0.2, 0.5)
    image = ground * (ambient + (1 - ambient) * light)[..., None] + 0.2 * shine[..., None]
    image = image * np.array([rng.uniform(0.94, 1.06), 1, rng.uniform(0.9, 1.1)], np.float32)
    moved, _ = world._knocked(rng, image.astype(np.float32), 16.0)
    return world._photograph(rng, moved, rng.uniform(0.6, 0.9), rng.uniform(0, 0.3))
