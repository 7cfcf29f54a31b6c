"""The pitch engine in worlds that are hard for it, on seeds that no setting was chosen on.

``python benchmarks/pitch_worlds.py --notes 48 --first 640000 [--only slower]`` prints a row for
each world of ``tests/fakes/string_worlds.py`` and of ``admittance_strings.py``, whose bridge is
another mechanism and on which nothing is ever set: median and 95 % of errors, how often the 90 %
intervals hold the truth and half of their median width, settled and 1 s after the pluck, how often
those of B do, and refusals by cause.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.admittance_strings import ADMITTANCE_WORLDS
from fakes.string_worlds import WORLDS
from heelstamp.acoustics import pitch

EVERY = {**WORLDS, **ADMITTANCE_WORLDS}
HEAD = (
    "| world | measured | settled: median / 95 % below | holds, half width "
    "| at 1 s: median / 95 % below | holds, half width | holds B | × real time | refused |"
)


def cells(errors: list[float], halves: list[float]) -> str:
    """Two cells: errors in cents, and how their intervals hold."""
    off, half = np.abs(errors), np.array(halves)
    held = f"{np.mean(off <= half):.2f}, {np.median(half):.3f}"
    return f"{np.median(off):.3f} / {np.quantile(off, 0.95):.3f} | {held}"


def row(world: str, count: int, first: int) -> str:
    """Measure one world."""
    place = list(EVERY).index(world)
    settled, later, holds_b, spent, sound = ([], []), ([], []), [], 0.0, 0.0
    refused: Counter[str] = Counter()
    for seed in range(count):
        note = EVERY[world](np.random.default_rng([first + seed, place]))
        begun = time.process_time()
        found = pitch(note.samples, note.rate)
        spent, sound = spent + time.process_time() - begun, sound + len(note.samples) / note.rate
        if found.f1_hz is None:
            refused[found.reasons[0].code] += 1
            continue
        off = 1200 * np.log2(found.f1_hz / note.f1)
        glided = found.later_cents - found.cents - 1200 * np.log2(note.f1_at_1s / note.f1)
        for kept, error, (low, high) in (
            (settled, off, found.cents_90),
            (later, off + glided, found.later_cents_90),
        ):
            kept[0].append(error)
            kept[1].append((high - low) / 2)
        holds_b.append(found.b_90[0] <= note.b <= found.b_90[1])
    causes = ", ".join(f"{n} {code}" for code, n in refused.items()) or "none"
    told = f"{cells(*settled)} | {cells(*later)}" if holds_b else "| | |"
    return (
        f"| {world} | {len(holds_b)} of {count} | {told} "
        f"| {np.mean(holds_b or [np.nan]):.2f} | {sound / spent:.0f} | {causes} |"
    )


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--notes", type=int, default=48)
    asked.add_argument("--first", type=int, default=640_000)
    asked.add_argument("--only", default="")
    given = asked.parse_args()
    print(HEAD)
    print("|---|---|---|---|---|---|---|---|---|")
    for world in EVERY:
        if given.only in world:
            print(row(world, given.notes, given.first), flush=True)


if __name__ == "__main__":
    main()
