"""Two visits of one face compared: places called on unchanged pairs, planted marks found.

``python benchmarks/change_watch.py --world textured --pairs 200 --first 20000 --textures FOLDER``.
Pairs of even seed are unchanged, of odd seed hold a chip, a scratch and a stain; ``--only`` counts
one sort. Worlds stand in ``watch_worlds.py``; weights were fitted on *cast* and *drawn*
(``watch_fit.py``), so *textured* is the world to count on. A place *differs clearly* or *may be the
light*; the program calls none new, and the first sort is what is counted as if it did. A mark has
at least 3 of the 200 steps of the frame's longer side.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import cv2
import numpy as np

from heelstamp.luminescence.visits.comparing import OtherFaceError, compare
from watch_worlds import KINDS, WORLDS

SEEN = 0.2
"""Contrast in log light from which a mark is told apart in the count."""


def judged(world: str, seed: int, *, marked: bool, **told: str) -> dict:
    """Compare one pair with what was planted."""
    pair = WORLDS[world](seed, marked=marked, **told)
    begun = time.process_time()
    try:
        found = compare(pair.before, pair.after)
    except OtherFaceError as error:
        return {"seed": seed, "marked": marked, "refused": round(error.agreement, 2)}
    spent = time.process_time() - begun
    high, wide = pair.before[0].shape[:2]
    false, hits = [], [0.0] * len(pair.marks)
    for one in found.places:
        pieces = [piece * (1, high / wide) for piece in one.outlines]
        points = [*np.vstack(pieces), (one.x, one.y * high / wide)]
        near = {k for k, mark in enumerate(pair.marks) if any(mark.near(x, y) for x, y in points)}
        for k in near:
            hits[k] = max(hits[k], 2.0 if one.clear else 1.0)
        if not near:
            false.append([round(one.strength, 2), one.clear])
    return {
        "seed": seed,
        "marked": marked,
        "false": false,
        "hits": [
            [mark.kind, round(mark.contrast, 2), hit]
            for mark, hit in zip(pair.marks, hits, strict=True)
        ],
        "told": round(found.told, 2),
        "cpu": round(spent, 2),
    }


def report(rows: list[dict]) -> None:
    """Print what was counted."""
    print(f"refused: {sum('refused' in one for one in rows)} of {len(rows)}")
    for marked in (False, True):
        own = [one for one in rows if one["marked"] == marked and "refused" not in one]
        if not own:
            continue
        clear = sum(any(sure for _, sure in one["false"]) for one in own)
        some = sum(bool(one["false"]) for one in own)
        mean = np.mean([len(one["false"]) for one in own])
        print(
            f"{'marked' if marked else 'unchanged'} pairs with a false place that differs clearly: "
            f"{clear} of {len(own)}; with any: {some}; places on average {mean:.2f}"
        )
    hits = [hit for one in rows for hit in one.get("hits", [])]
    for name in (*KINDS, "all"):
        for least in (0.0, SEEN):
            own = [hit for hit in hits if name in (hit[0], "all") and hit[1] >= least]
            if own:
                found, sure = sum(hit[2] > 0 for hit in own), sum(hit[2] > 1 for hit in own)
                print(
                    f"{name}, contrast {least} or more: {found} of {len(own)} found "
                    f"({found / len(own):.1%}), {sure} of them differ clearly"
                )
    spent = [one["cpu"] for one in rows if "cpu" in one]
    if spent:
        print(f"compared: {np.median(spent):.1f} CPU s a pair (median)")


def main() -> None:
    """Count pairs, adding to a file if asked."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--world", choices=sorted(WORLDS), default="textured")
    ask.add_argument("--pairs", type=int, default=200)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--only", choices=("unchanged", "marked"))
    ask.add_argument("--textures", default="", help="folder of photographs for textured faces")
    ask.add_argument("--save", type=Path)
    told = ask.parse_args()
    cv2.setNumThreads(1)
    more = {"folder": told.textures} if told.world == "textured" else {}
    rows = []
    for seed in range(told.first, told.first + told.pairs):
        marked = seed % 2 == 1 if told.only is None else told.only == "marked"
        rows.append(judged(told.world, seed, marked=marked, **more))
        if told.save:
            with told.save.open("a") as out:
                out.write(json.dumps(rows[-1]) + "\n")
    report(rows)


if __name__ == "__main__":
    main()
