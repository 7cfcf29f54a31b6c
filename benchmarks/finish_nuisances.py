"""What the engine claims where light, shape and dust differ, on three families of drawn bodies.

``finish_nuisances.py --family relief --each 12 --first 300000 --save FILE`` counts for each
nuisance clean bodies with a region, pairs refused, recall of what was planted and how far
confidence is true, from one UV frame and from two with the lamp on opposite sides. Families:
``relief`` (``relief_world.py``), ``texture`` (``texture_world.py``), ``drawn``
(``drawn_world.py``, the project's own simulator). Every figure is 'on simulated pairs'. A run adds
to its file and leaves out what stands there; ``--report FILE`` prints it.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import cv2
import numpy as np

import drawn_world
import relief_world
import texture_world
from finish_world import NUISANCES, World
from heelstamp.luminescence import Assessment, GreyStandard, Masks, assess, structure
from heelstamp.luminescence.confidence import features

FOUND = 0.35
LARGE_MM2 = 7.0
FAMILIES = ("relief", "texture", "drawn")


def drawn(family: str, seed: int, nuisance: str, *, defects: bool) -> dict[bool, World]:
    """The world of one UV frame and of two; a family that cannot move its lamp has one only."""
    if family == "drawn":
        return {False: drawn_world.make(seed, nuisance, defects=defects)}
    make = relief_world.make if family == "relief" else texture_world.make
    world = make(seed, nuisance, defects=defects, places=2)
    return {False: world, True: world}


def judged(world: World, found: Assessment) -> dict:
    """False regions in mm², and for each planted place whether it is claimed or left open."""
    told: dict = {"refused": [one.code for one in found.reasons], "false": [], "hits": []}
    told["off"] = [
        round(off(one, true, world.outline) / world.per_mm, 2)
        for one, true in zip(found.transforms, world.to_visible, strict=False)
    ]
    if found.verdict != "assessed":
        return told
    labels = found.label_map()
    for region in found.regions:
        here = labels == region.number
        if np.count_nonzero(here & (world.labels > 0)) < 0.25 * np.count_nonzero(here):
            told["false"].append(
                [
                    round(region.area_px / world.per_mm**2, 1),
                    region.kind.value,
                    [round(v) for v in region.centre],
                ]
            )
    h, w = world.labels.shape
    ys, xs = np.mgrid[0:h, 0:w]
    for number, kind in enumerate(world.kinds, start=1):
        mask = world.labels == number
        if np.count_nonzero(mask) < LARGE_MM2 * world.per_mm**2:
            continue
        claimed = bool((labels[mask] > 0).mean() > FOUND)
        left = any(
            (np.hypot(xs[mask] - d.centre[0], ys[mask] - d.centre[1]) < d.reach_px).mean() > FOUND
            for d in found.doubts
        )
        told["hits"].append([kind, claimed, left])
    told["doubts"] = len(found.doubts)
    told["candidates"] = [one for one in _candidates(world, found) if one[1] > 0.3 or one[0]]
    return told


def _candidates(world: World, found: Assessment) -> list[list]:
    """Of each candidate: is it claimed, its confidence, is it true, the model's features."""
    rows = []
    small = cv2.resize(
        (world.labels > 0).astype(np.float32),
        found.labels.shape[::-1],
        interpolation=cv2.INTER_AREA,
    )
    for one, sure in found.considered:
        claimed = bool((found.labels[one.box][one.mask] > 0).mean() > 0.9)
        true = bool((small[one.box][one.mask] > 0.5).mean() >= 0.25)
        numbers = [round(float(v), 3) for v in features(one)]
        rows.append([claimed, round(sure, 3), true, numbers])
    return rows


def off(found: np.ndarray, true: np.ndarray, outline: np.ndarray) -> float:
    """The root mean square distance of a position from the true one over the body, px."""
    away = structure.apply(found, structure.apply(np.linalg.inv(true), outline)) - outline
    return float(np.sqrt((away**2).sum(axis=1).mean()))


def both(family: str, seed: int, nuisance: str, *, defects: bool, proposed: bool) -> list[dict]:
    """Draw a body; assess one UV frame of it, then two; compare with what was planted."""
    rows = []
    for moved, world in drawn(family, seed, nuisance, defects=defects).items():
        begun = time.process_time()
        found = assess(
            world.visible,
            world.uv[0],
            further=world.uv[1:] if moved else (),
            brushed=moved,
            masks=None if proposed else Masks(world.outline, tuple(world.parts)),
            px_per_mm=world.per_mm,
            greys=(GreyStandard(world.grey, 0.18),),
        )
        row = {"family": family, "seed": seed, "nuisance": nuisance, "defects": defects}
        row |= {"moved": moved, "cpu": round(time.process_time() - begun, 2)}
        rows.append(row | judged(world, found))
    return rows


def report(rows: list[dict]) -> None:
    """Print a line a family, way and nuisance, then the sums."""
    for family in FAMILIES:
        for moved in (False, True):
            some = [r for r in rows if r["family"] == family and r["moved"] == moved]
            for nuisance in (*NUISANCES, None):
                here = [r for r in some if nuisance in (None, r["nuisance"])]
                if here:
                    name = nuisance or "together"
                    print(
                        f"{family}, {'two places' if moved else 'one frame'}, {name}: {line(here)}"
                    )
            if some:
                print(f"    confidence of what is claimed: {calibration(some)}")
    if rows:
        print(f"CPU s an assessment: median {np.median([r['cpu'] for r in rows]):.1f}")


def line(some: list[dict]) -> str:
    """Counts of one line."""
    assessed = [r for r in some if not r["refused"]]
    clean = [r for r in assessed if not r["defects"]]
    other = [r for r in assessed if r["defects"]]
    hits = [h for r in other for h in r["hits"]]
    recall = ", ".join(
        f"{kind} {sum(c for _, c, _ in kept)} of {len(kept)} "
        f"(told {sum(c or o for _, c, o in kept)})"
        for kind in sorted({h[0] for h in hits})
        for kept in [[h for h in hits if h[0] == kind]]
    )
    codes = sorted({code for r in some for code in r["refused"]})
    worst = max((max(r["off"], default=0.0) for r in assessed), default=0.0)
    return (
        f"refused {len(some) - len(assessed)} of {len(some)} {codes or ''}; clean with a region "
        f"{sum(bool(r['false']) for r in clean)} of {len(clean)}; false beside differences "
        f"{sum(bool(r['false']) for r in other)} of {len(other)}; {recall}; position off at most "
        f"{worst:.2f} mm"
    )


def calibration(rows: list[dict], bins: int = 10) -> str:
    """Expected calibration error of the confidence of what is claimed."""
    pairs = np.array([c[1:3] for r in rows for c in r.get("candidates", ()) if c[0]], float)
    if not len(pairs):
        return "nothing claimed"
    which = np.minimum((pairs[:, 0] * bins).astype(int), bins - 1)
    gaps = [
        abs(pairs[which == b, 0].mean() - pairs[which == b, 1].mean()) * np.mean(which == b)
        for b in range(bins)
        if (which == b).any()
    ]
    return (
        f"expected error {np.sum(gaps):.3f} of {len(pairs)}, {pairs[:, 1].mean():.3f} of them real"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--family", default="relief", choices=FAMILIES)
    parser.add_argument("--each", type=int, default=12, help="clean bodies, and half as many with")
    parser.add_argument("--first", type=int, default=300_000)
    parser.add_argument("--nuisances", default=",".join(NUISANCES))
    parser.add_argument("--proposed", action="store_true", help="masks are proposed, not given")
    parser.add_argument("--save", type=Path)
    parser.add_argument("--report", type=Path)
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    if wanted.report:
        report([json.loads(line) for line in wanted.report.read_text("utf-8").splitlines()])
        return
    rows: list[dict] = []
    if wanted.save and wanted.save.exists():
        rows = [json.loads(line) for line in wanted.save.read_text("utf-8").splitlines()]
    done = {(r["family"], r["seed"]) for r in rows}
    possible = drawn_world.NUISANCES if wanted.family == "drawn" else NUISANCES
    for k in range(wanted.each):
        for nuisance in wanted.nuisances.split(","):
            for defects in (False, True):
                seed = wanted.first + 20 * k + 2 * NUISANCES.index(nuisance) + defects
                left_out = nuisance not in possible or (defects and k % 2)
                if left_out or (wanted.family, seed) in done:
                    continue
                new = both(wanted.family, seed, nuisance, defects=defects, proposed=wanted.proposed)
                rows += new
                if wanted.save:
                    with wanted.save.open("a", encoding="utf-8") as file:
                        file.writelines(json.dumps(row) + "\n" for row in new)
    report(rows)


if __name__ == "__main__":
    main()
