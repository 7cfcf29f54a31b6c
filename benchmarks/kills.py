"""Kills at random: what an act leaves when its process goes at any thing it asks of the machine.

Usage: python benchmarks/kills.py [--count 500] [--seed 1]. Ends with 1 if anything was lost or
left half. The acts and what must hold are those of ``tests/fakes/kills.py``.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import time
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes.kills import ACTS, faults_after, prepare, run_killed


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    random = np.random.default_rng(given.seed)
    began, done, found = time.perf_counter(), Counter[str](), 0
    acknowledged_all = 0
    with TemporaryDirectory() as scratch:
        total, laid = {}, Path(scratch) / "laid"
        for act in ACTS:
            place = Path(scratch) / act
            place.mkdir()
            prepare(act, place)
            shutil.copytree(place, laid / act)
            total[act] = run_killed(act, place, 0)[1] or 0
        for number in range(given.count):
            act = ACTS[number % len(ACTS)]
            place = Path(scratch) / str(number)
            shutil.copytree(laid / act, place)
            nth = int(random.integers(1, total[act]))
            acknowledged, lived = run_killed(act, place, nth)
            acknowledged_all += len(acknowledged)
            faults = faults_after(act, place, acknowledged)
            done[act] += lived is None
            for one in faults:
                print(f"{act}, killed at {nth} of {total[act]}: {one}")
            found += bool(faults)
            shutil.rmtree(place)
    for act in ACTS:
        print(f"{act}: {done[act]} kills at one of {total[act]} places")
    print(
        f"{sum(done.values())} kills, {acknowledged_all} acknowledged entries, "
        f"{found} that lost or left anything half; {time.perf_counter() - began:.0f} s"
    )
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
