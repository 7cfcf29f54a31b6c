"""Power cuts at random: what is left of an act when the power goes, in whatever order a disk wrote.

Usage: python benchmarks/power_cuts.py [--count 500] [--seed 1]. Ends with 1 if anything was lost or
left half. How cuts are made and what must hold stands in ``tests/fakes/power_cuts.py`` and
``tests/fakes/cut_acts.py``.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes.cut_acts import ACTS
from fakes.power_cuts import faults_of_cuts


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    many = max(1, given.count * 3 // (4 * len(ACTS)))  # a third as many again once the act was done
    began, found = time.perf_counter(), 0
    for act, (lay_out, do, check, done) in ACTS.items():
        with TemporaryDirectory() as scratch:
            disk = Path(scratch) / "disk"
            disk.mkdir()
            lay_out(disk)
            told = faults_of_cuts(do, check, Path(scratch), many=many, seed=given.seed, done=done)
        for one in told:
            print(f"{act}: {one}")
        found += len(told)
        print(f"{act}: {many} cuts at any moment, {max(1, many // 3)} once it was done")
    print(f"{found} that lost or left anything half; {time.perf_counter() - began:.0f} s")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
