"""Control noise on simulated takes: recall, precision, speed; the table of the method page.

python benchmarks/crackle_accuracy.py [FIRST_SEED] [TAKES]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from heelstamp.acoustics.control_noise import control_noise
from results import Result

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

CASES = (
    ("muted, 18 to 40 dB", None, (18.0, 40.0), 0.99),
    ("muted, 14 to 18 dB", None, (14.0, 18.0), None),
    ("buzz of 25 dB, 24 to 40 dB", 25.0, (24.0, 40.0), 0.99),
    ("buzz of 25 dB, 18 to 24 dB", 25.0, (18.0, 24.0), None),
)


def takes(first: int = 300, count: int = 30) -> Iterator[Result]:
    """Count events of *count* takes a case."""
    from fakes.crackle_simulator import matched, room, still_take, sweep_take

    for name, buzz_db, levels, goal in CASES:
        hits = missed = extra = 0
        sound = spent = 0.0
        for seed in range(first, first + count):
            place = room(seed, buzz_db=buzz_db)
            still, sweep = still_take(place, seed), sweep_take(place, seed, levels_db=levels)
            begun = time.process_time()
            found = control_noise(sweep.samples, place.rate, still.samples, place.rate)
            spent += time.process_time() - begun
            sound += (len(sweep.samples) + len(still.samples)) / place.rate
            one = matched(np.array([event.at_s for event in found.events]), sweep.times)
            hits, missed, extra = hits + one[0], missed + one[1], extra + one[2]
        beside = f"{hits + missed} events, {sound / spent:.0f} times real time"
        for what, figure in (
            ("recall", hits / (hits + missed)),
            ("precision", hits / (hits + extra)),
        ):
            bound = None if goal is None else ("at least", goal)
            yield Result(f"crackle, {name}: {what}", round(figure, 4), "", bound, beside)  # type: ignore[arg-type]


if __name__ == "__main__":
    for row in takes(*map(int, sys.argv[1:])):
        print("  ".join(row.cells()))
