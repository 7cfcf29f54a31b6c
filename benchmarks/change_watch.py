# ruff: noqa: SLF001 - a second scene of the same world
"""Two visits of one face compared, on bodies cast from height maps; no setting was chosen on them.

``python benchmarks/change_watch.py --pairs 200 --first 0`` counts places that are to be looked at
on unchanged pairs, and planted marks that are among them; half of the pairs hold marks. The world
is ``relief_world.py``: lamps of finite size cast shadows and shine; ordinary light here, the lamp
turned by 120 degrees between two photographs of a visit, another lamp on the other visit. What
stands up is not displaced by a camera that moved. A mark has at least 3 of the 200 steps of the
frame's longer side. Nothing is called new by the program: every place is one to look at.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import cv2
import numpy as np

import relief_world as world
from heelstamp.luminescence.visits.comparing import OtherFaceError, compare

KINDS = ("chip", "scratch", "stain")
STEP = world.WIDTH / 200


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
    rim = round(0.09 * world.HEIGHT)
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
    moved = world._knocked(rng, image.astype(np.float32), 16.0)
    return world._photograph(rng, moved, rng.uniform(0.6, 0.9), rng.uniform(0, 0.3))


def judged(seed: int, *, marked: bool) -> dict:
    """Compare one pair with what was planted."""
    heights, ground, coat, rng = scene(seed)
    later, marks = ground.copy(), []
    if marked:
        for kind in KINDS:
            one = plant(rng, later, coat, marks, kind)
            marks += [one] if one else []
    shots = []
    for face in (ground, later):
        begun = rng.uniform(0, 360)
        shots.append([photograph(rng, heights, face, begun + 120 * k) for k in range(2)])
    begun = time.process_time()
    try:
        found = compare(*shots)
    except OtherFaceError as error:
        return {"seed": seed, "marked": marked, "refused": error.agreement}
    spent = time.process_time() - begun
    false, hits = [], []
    for one in found.places:
        x, y = one.x * world.WIDTH, one.y * world.HEIGHT
        near = any(np.hypot(x - m[1], y - m[2]) < m[3] / 2 + 22 for m in marks)
        if not near:
            false.append(round(one.strength, 2))
    for kind, x, y, long, contrast in marks:
        best = max(
            (
                one.strength
                for one in found.places
                if np.hypot(one.x * world.WIDTH - x, one.y * world.HEIGHT - y) < long / 2 + 22
            ),
            default=0.0,
        )
        hits.append([kind, round(contrast, 2), round(best, 2)])
    told = {"seed": seed, "marked": marked, "false": false, "hits": hits}
    return told | {"told": round(found.told, 2), "cpu": round(spent, 2)}


def report(rows: list[dict]) -> None:
    """Print what was counted."""
    plain = [one for one in rows if not one["marked"] and "refused" not in one]
    print(f"refused: {sum('refused' in one for one in rows)} of {len(rows)}")
    none = sum(not one["false"] for one in plain)
    print(f"unchanged pairs without a place: {none} of {len(plain)}")
    mean = np.mean([len(one["false"]) for one in plain]) if plain else float("nan")
    print(f"places on an unchanged pair: {mean:.2f} on average; called new: 0 by construction")
    hits = [hit for one in rows if one["marked"] for hit in one.get("hits", [])]
    for name in (*KINDS, "all"):
        own = [hit for hit in hits if name in (hit[0], "all")]
        clear = [hit for hit in own if hit[1] >= 0.2]
        print(
            f"{name}: {sum(hit[2] > 0 for hit in own)} of {len(own)}; of contrast 0.2 or more "
            f"{sum(hit[2] > 0 for hit in clear)} of {len(clear)}"
        )


def main() -> None:
    """Count pairs, adding to a file if asked."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--pairs", type=int, default=200)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--save", type=Path)
    told = ask.parse_args()
    cv2.setNumThreads(1)
    rows = []
    for seed in range(told.first, told.first + told.pairs):
        rows.append(judged(seed, marked=seed % 2 == 1))
        if told.save:
            with told.save.open("a") as out:
                out.write(json.dumps(rows[-1]) + "\n")
    report(rows)


if __name__ == "__main__":
    main()
