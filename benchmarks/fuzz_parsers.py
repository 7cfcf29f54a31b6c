"""Damaged input to every parser, and what was no refusal in words.

`python benchmarks/fuzz_parsers.py --count 10000000 --least 5000 --seed 1` gives each parser of
`tests/fakes/parsers.py` the least, then shares what is left of the count by how fast each is;
without `--least` each gets the same. `--only exif` takes one. Decoders run in this process: one
that dies takes the run down, which the last line printed then names. Inputs that ended in a
traceback are kept beside, named by parser and number, so that they can be made into tests. Ends
with 1 if any did.
"""

from __future__ import annotations

import argparse
import collections
import os
import sys
import time
import traceback
from contextlib import ExitStack
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes.parsers import Parser, damaged, parsers, tracebacks
from fakes.request_parser import request_parser


def run(
    name: str, parser: Parser, count: int, seed: int | str, keep: Path | None
) -> tuple[int, float]:
    """Damage and read *count* times; give how many ended in a traceback, and the seconds."""
    chance = Random(f"{name} {seed}")  # noqa: S311 - to be repeated, not to be secret
    seen: collections.Counter[str] = collections.Counter()
    begun, slowest = time.perf_counter(), 0.0
    for number in range(count):
        data = damaged(chance.choice(parser.seeds), chance)
        started = time.perf_counter()
        error = tracebacks(parser, data)
        slowest = max(slowest, time.perf_counter() - started)
        if error is None:
            continue
        last = traceback.extract_tb(error.__traceback__)[-1]
        place = f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}"
        seen[place] += 1
        if keep is not None and seen[place] == 1:
            (keep / f"{name.replace(' ', '_')}-{seed}-{number}").write_bytes(data)
    took = time.perf_counter() - begun
    print(
        f"{name:16} {count:8} inputs {sum(seen.values()):6} tracebacks {took:7.1f} s, "
        f"slowest {slowest:.2f} s",
        *seen.most_common(8),
        flush=True,
    )
    return sum(seen.values()), took


def main() -> int:
    """Run what was asked for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=20_000)
    asked.add_argument("--least", type=int, help="inputs of each parser, however slow")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", nargs="*", default=[*sorted(parsers()), "request"])
    asked.add_argument("--keep", type=Path)
    told = asked.parse_args()
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # what decoders print of each
    kept = ExitStack()  # let go of at the end
    chosen = {
        name: kept.enter_context(request_parser()) if name == "request" else parsers()[name]
        for name in told.only
    }
    if told.keep is not None:
        told.keep.mkdir(parents=True, exist_ok=True)
    least = told.least or -(-told.count // len(chosen))
    found, tried, speeds = 0, least * len(chosen), dict[str, float]()
    for name, one in chosen.items():
        more, took = run(name, one, least, told.seed, told.keep)
        found, speeds[name] = found + more, least / max(took, 1e-6)
    left = max(0, told.count - tried)
    for name, one in chosen.items():
        share = round(left * speeds[name] / sum(speeds.values()))
        if share:
            found += run(name, one, share, f"{told.seed} more", told.keep)[0]
            tried += share
    kept.close()
    print(f"{tried} inputs, {found} tracebacks")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
