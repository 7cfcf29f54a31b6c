"""The pitch engine in worlds that are hard for it, on seeds that no setting was chosen on.

``python benchmarks/pitch_worlds.py --notes 48 --first 9000 [--only slower]`` prints a row for each
world of ``tests/fakes/string_worlds.py``: median and 95 % of errors, how often the 90 % intervals
hold the truth, half of their median width, refusals by cause.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.string_worlds import WORLDS
from heelstamp.acoustics import pitch

HEAD = (
    "| world | measured | median / 95 % below, cents | holds f1 | half width | holds B "
    "| × real time | refused |"
)


def row(world: str, count: int, first: int) -> str:
    """Measure one world."""
    place = list(WORLDS).index(world)
    off, holds, wide, holds_b, spent, sound = [], [], [], [], 0.0, 0.0
    refused: Counter[str] = Counter()
    for seed in range(count):
        note = WORLDS[world](np.random.default_rng([first + seed, place]))
        begun = time.process_time()
        found = pitch(note.samples, note.rate)
        spent, sound = spent + time.process_time() - begun, sound + len(note.samples) / note.rate
        if found.f1_hz is None or found.cents_90 is None or found.b_90 is None:
            refused[found.reasons[0].code] += 1
            continue
        off.append(1200 * np.log2(found.f1_hz / note.f1))
        half = (found.cents_90[1] - found.cents_90[0]) / 2
        holds.append(abs(off[-1]) <= half)
        wide.append(half)
        holds_b.append(found.b_90[0] <= note.b <= found.b_90[1])
    size = np.abs(off) if off else np.array([np.nan])
    causes = ", ".join(f"{n} {code}" for code, n in refused.items()) or "none"
    return (
        f"| {world} | {len(off)} of {count} "
        f"| {np.median(size):.3f} / {np.quantile(size, 0.95):.3f} | {np.mean(holds):.2f} | {np.median(wide):.3f} | {np.mean(holds_b):.2f} "
        f"| {sound / spent:.0f} | {causes} |"
    )


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--notes", type=int, default=48)
    asked.add_argument("--first", type=int, default=640_000)
    asked.add_argument("--only", default="")
    given = asked.parse_args()
    print(HEAD)
    print("|---|---|---|---|---|---|---|---|")
    for world in WORLDS:
        if given.only in world:
            print(row(world, given.notes, given.first), flush=True)


if __name__ == "__main__":
    main()
