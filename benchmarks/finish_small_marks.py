"""Small touch-ups: how many of a given size are found at 12 MP, on simulated pairs only.

``python benchmarks/finish_small_marks.py --bodies 6 --sizes 2,3,4`` plants round touch-ups with a
glow ratio of 0.3 to 0.5 on easy, medium and hard bodies of the tuning styles and counts those of
which a third is covered by a region. Sizes are diameters.
"""

from __future__ import annotations

import argparse
import json
import resource
import sys
import time
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.finish_shapes import TUNING_STYLES, make_body
from fakes.finish_simulator import LEVELS, Pair, simulate
from fakes.finish_surfaces import FINISHES, Planted
from heelstamp.luminescence import GreyStandard, Masks, assess

CLEAR_MM, APART_MM = 8.0, 18.0


def marked_pair(
    seed: int, level: str, style: str, finish: str, *, sizes: list[float], width: int, each: int
) -> tuple[Pair, list[float]]:
    """A pair with *each* touch-ups of every size on free coat, and their sizes in order."""
    body = make_body(style, "front", np.random.default_rng([seed, LEVELS[level]]))
    rng = np.random.default_rng([seed, 77])
    low, high = body.outline.min(axis=0), body.outline.max(axis=0)
    outline = body.outline.astype(np.float32)
    parts = [part.polygon.astype(np.float32) for part in body.hardware]
    places: list[np.ndarray] = []
    wanted = [size for size in sizes for _ in range(each)]
    for _ in range(5000):
        at = rng.uniform(low, high)
        point = (float(at[0]), float(at[1]))
        if (
            cv2.pointPolygonTest(outline, point, measureDist=True) > CLEAR_MM
            and all(cv2.pointPolygonTest(p, point, measureDist=True) < -CLEAR_MM for p in parts)
            and all(np.linalg.norm(at - other) > APART_MM for other in places)
        ):
            places.append(at)
        if len(places) == len(wanted):
            break
    planted = [
        Planted(
            "touch-up",
            (float(at[0]), float(at[1])),
            (size, size),
            rng.uniform(0.3, 0.5),
            hue=rng.uniform(0, 0.4),
            visible=rng.uniform(0, 0.06),
            edge=0.25,
        )
        for at, size in zip(places, wanted, strict=False)
    ]
    pair = simulate(
        seed,
        difficulty=level,
        style=style,
        finish=finish,
        side="front",
        width=width,
        planted=planted,
    )
    return pair, wanted[: len(places)]


def found_marks(pair: Pair, sizes: list[float]) -> tuple[list[tuple[float, bool]], int, float]:
    """Assess and give (size, found) of every mark, regions that are no mark, and CPU seconds."""
    begun = time.process_time()
    answer = assess(
        pair.visible,
        pair.uv,
        masks=Masks(pair.outline, pair.parts),
        px_per_mm=pair.px_per_mm,
        greys=(GreyStandard(pair.grey, pair.grey_reflectance),),
    )
    spent = time.process_time() - begun
    if answer.verdict != "assessed":
        return [], 0, spent
    labels = answer.label_map()
    rows = []
    for number, size in enumerate(sizes, start=1):
        here = pair.labels == number
        if here.any():
            rows.append((size, bool((labels[here] > 0).mean() > 0.33)))
    real = {int(v) for v in np.unique(labels[pair.labels > 0])}
    return rows, len({r.number for r in answer.regions} - real), spent


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--bodies", type=int, default=6)
    parser.add_argument("--first", type=int, default=60_000)
    parser.add_argument("--sizes", default="2,3,4")
    parser.add_argument("--each", type=int, default=5)
    parser.add_argument("--width", type=int, default=4000)
    parser.add_argument("--save", type=Path)
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    sizes = [float(size) for size in wanted.sizes.split(",")]
    rows: list[tuple[float, bool]] = []
    cpu, false, refused = [], 0, 0
    for k in range(wanted.bodies):
        level = ("easy", "medium", "hard")[k % 3]
        style, finish = TUNING_STYLES[k % len(TUNING_STYLES)], FINISHES[(k // 3) % len(FINISHES)]
        pair, planted = marked_pair(
            wanted.first + k,
            level,
            style,
            finish,
            sizes=sizes,
            width=wanted.width,
            each=wanted.each,
        )
        some, extra, spent = found_marks(pair, planted)
        rows += some
        cpu.append(spent)
        false += extra
        refused += not some
        line = {
            "seed": wanted.first + k,
            "level": level,
            "finish": finish,
            "marks": some,
            "false": extra,
            "cpu": spent,
        }
        if wanted.save:
            with wanted.save.open("a", encoding="utf-8") as file:
                file.write(json.dumps(line) + "\n")
    for size in sizes:
        seen = [ok for one, ok in rows if one == size]
        print(f"{size:.1f} mm: {sum(seen)} of {len(seen)} found")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"refused {refused}; other regions {false}")
    print(f"CPU s a pair: median {np.median(cpu):.1f}; peak, simulator included: {peak:.0f} MB")


if __name__ == "__main__":
    main()
