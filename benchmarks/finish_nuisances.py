"""What the engine claims where light, shape and dust differ, on bodies cast from height maps.

``python benchmarks/finish_nuisances.py --each 12 --first 300000`` counts for each nuisance: clean
bodies with a region, and recall of touch-up, wear and film, from one UV frame and from two with the
lamp on opposite sides. The world is ``relief_world.py``; no setting was chosen on
it. Every figure is 'on simulated pairs'. ``--save`` adds to a file, ``--report`` prints it.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import cv2
import numpy as np

from heelstamp.luminescence import Assessment, GreyStandard, Masks, assess
from relief_world import HEIGHT, NUISANCES, PER_MM, WIDTH, World, make

FOUND = 0.35
LARGE_MM2 = 7.0


def judged(world: World, found: Assessment) -> dict:
    """False regions in mm², and for each planted place whether it is claimed or left open."""
    told = {"refused": [one.code for one in found.reasons], "false": [], "hits": []}
    if found.verdict != "assessed":
        return told
    labels = found.label_map()
    for region in found.regions:
        here = labels == region.number
        if np.count_nonzero(here & (world.labels > 0)) < 0.25 * np.count_nonzero(here):
            told["false"].append([round(region.area_px / PER_MM**2, 1), region.kind.value])
    ys, xs = np.mgrid[0:HEIGHT, 0:WIDTH]
    for number, kind in enumerate(world.kinds, start=1):
        mask = world.labels == number
        if np.count_nonzero(mask) < LARGE_MM2 * PER_MM**2:
            continue
        claimed = bool((labels[mask] > 0).mean() > FOUND)
        left = any(
            (np.hypot(xs[mask] - d.centre[0], ys[mask] - d.centre[1]) < d.reach_px).mean() > FOUND
            for d in found.doubts
        )
        told["hits"].append([kind, claimed, left])
    told["doubts"] = len(found.doubts)
    told["sure"] = [[round(r.confidence, 3)] for r in found.regions]
    return told


def both(seed: int, nuisance: str, *, defects: bool) -> list[dict]:
    """Draw a body; assess its first UV frame alone, then both; compare with what was planted."""
    world = make(seed, nuisance, defects=defects, places=2)
    rows = []
    for moved in (False, True):
        begun = time.process_time()
        found = assess(
            world.visible,
            world.uv[0],
            further=world.uv[1:] if moved else (),
            brushed=moved,
            masks=Masks(world.outline, tuple(world.parts)),
            px_per_mm=PER_MM,
            greys=(GreyStandard(world.grey, 0.18),),
        )
        row = {"seed": seed, "nuisance": nuisance, "defects": defects, "moved": moved}
        rows.append(row | judged(world, found) | {"cpu": round(time.process_time() - begun, 2)})
    return rows


def report(rows: list[dict]) -> None:
    """Print a line a nuisance."""
    for moved in (False, True):
        for nuisance in NUISANCES:
            some = [r for r in rows if (r["nuisance"], r["moved"]) == (nuisance, moved)]
            clean = [r for r in some if not r["defects"] and not r["refused"]]
            other = [r for r in some if r["defects"] and not r["refused"]]
            if not some:
                continue
            hits = [h for r in other for h in r["hits"]]
            recall = ", ".join(
                f"{kind} {sum(claimed for _, claimed, _ in kept)} of {len(kept)} "
                f"(told of {sum(claimed or left for _, claimed, left in kept)})"
                for kind in ("touch-up", "wear", "film")
                for kept in [[h for h in hits if h[0] == kind]]
            )
            refused = [code for r in some for code in r["refused"]]
            print(
                f"{'two places' if moved else 'one frame'}, {nuisance}: clean with a region "
                f"{sum(bool(r['false']) for r in clean)} of {len(clean)}; false beside differences "
                f"{sum(bool(r['false']) for r in other)} of {len(other)}; {recall}; "
                f"refused {len(refused)} {sorted(set(refused)) or ''}"
            )
    if rows:
        print(f"CPU s a body: median {np.median([r['cpu'] for r in rows]):.1f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=12, help="clean bodies, and as many with")
    parser.add_argument("--first", type=int, default=300_000)
    parser.add_argument("--nuisances", default=",".join(NUISANCES))
    parser.add_argument("--save", type=Path)
    parser.add_argument("--report", type=Path)
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    if wanted.report:
        report([json.loads(line) for line in wanted.report.read_text("utf-8").splitlines()])
        return
    rows = []
    for k in range(wanted.each):
        for nuisance in wanted.nuisances.split(","):
            for defects in (False, True):
                seed = wanted.first + 20 * k + 2 * NUISANCES.index(nuisance) + defects
                rows += both(seed, nuisance, defects=defects)
                if wanted.save:
                    with wanted.save.open("a", encoding="utf-8") as file:
                        file.writelines(json.dumps(row) + "\n" for row in rows[-2:])
    report(rows)


if __name__ == "__main__":
    main()
