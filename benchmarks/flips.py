"""Bits flipped in a shop's database: how many of those that change what it says are found.

Usage: python benchmarks/flips.py [--count 500] [--seed 20261130]. A flip counts when the rows or
the schema read back otherwise, or not at all; it is found when the look at the database names
anything. The database and the reading are those of ``tests/integration/test_store_soundness.py``.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes.kills import stocked_shop
from integration.test_store_soundness import content, told


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20_261_130)
    given = parser.parse_args()
    random = np.random.default_rng(given.seed)
    changed = found = tried = 0
    with TemporaryDirectory() as scratch:
        stocked_shop(Path(scratch) / "shop")
        whole = (Path(scratch) / "shop" / "heelstamp.db").read_bytes()
        path = Path(scratch) / "flipped.db"
        path.write_bytes(whole)
        before = content(path)
        while changed < given.count:
            byte, bit = divmod(int(random.integers(0, len(whole) * 8)), 8)
            tried += 1
            spoilt = bytearray(whole)
            spoilt[byte] ^= 1 << bit
            for ending in ("-wal", "-shm"):
                path.with_name(path.name + ending).unlink(missing_ok=True)
            path.write_bytes(spoilt)
            if content(path) == before:
                continue
            changed += 1
            try:
                named = told(path)
            except Exception as error:  # noqa: BLE001 - a refusal to read it is a finding too
                named = [str(error)]
            found += bool(named)
            if not named:
                print(f"missed: byte {byte}, bit {bit}")
    print(f"{found} of {changed} flips that change the content found ({tried} tried)")
    return 0 if found == changed else 1


if __name__ == "__main__":
    sys.exit(main())
