"""Kills at random: what an act leaves when its process goes at any moment.

Usage: python benchmarks/kills.py [--count 500] [--seed 1]. Half of the kills come at one of the
things that an act asks of the machine, half after a time drawn at random; an act that was done by
then is none, and another is tried. Ends with 1 if anything was lost or left half. The acts and what
must hold are those of ``tests/fakes/kills.py``.
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
        total, lasts, laid = {}, {}, Path(scratch) / "laid"
        for act in ACTS:
            place = Path(scratch) / act
            place.mkdir()
            prepare(act, place)
            shutil.copytree(place, laid / act)
            started = time.perf_counter()
            total[act] = run_killed(act, place, 0)[1] or 0
            lasts[act] = time.perf_counter() - started
        number = 0
        while sum(done.values()) < given.count:
            act, timed = ACTS[number % len(ACTS)], number // len(ACTS) % 2
            number += 1
            place = Path(scratch) / str(number)
            shutil.copytree(laid / act, place)
            nth = 0 if timed else int(random.integers(1, total[act]))
            after_s = float(random.uniform(0.001, lasts[act])) if timed else 0.0
            acknowledged, lived = run_killed(act, place, nth, after_s)
            acknowledged_all += len(acknowledged)
            faults = faults_after(act, place, acknowledged)
            done[act] += lived is None
            when = f"after {1000 * after_s:.0f} ms" if timed else f"at {nth} of {total[act]}"
            for one in faults:
                print(f"{act}, killed {when}: {one}", flush=True)
            found += bool(faults)
            shutil.rmtree(place)
    for act in ACTS:
        print(f"{act}: {done[act]} kills, at one of {total[act]} places or any time")
    print(
        f"{sum(done.values())} kills, {acknowledged_all} acknowledged entries, "
        f"{found} that lost or left anything half; {time.perf_counter() - began:.0f} s"
    )
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
