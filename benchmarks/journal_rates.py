"""How fast a journal grows and is verified."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from heelstamp.archive import read_json, seal
from heelstamp.archive.chain import Verdict, verify_lines
from heelstamp.casework.dossier import append, append_all, open_dossier
from heelstamp.casework.ports import Shop
from heelstamp.shop import create_shop
from results import Result, seconds

SINGLY, AT_A_TIME, TOGETHER = 400, 20, 1000
TAG, BY, AT = "H-0001", "examiner A", "2026-11-02T09:05:00Z"
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": TAG,
}


def _observation(number: int) -> Mapping[str, Any]:
    return {
        "id": f"o{number}",
        "part": "neck",
        "kind": "mark",
        "status": "illegible",
        "frames": [],
        "note": f"Heel of the neck, under oblique light, look number {number}.",
    }


def _flushed(path: Path, count: int) -> float:
    """Seconds in which this disk takes 4 kB more of a file for certain (fsync), *count* times."""
    with path.open("ab") as file:
        begun = time.perf_counter()
        for _ in range(count):
            file.write(bytes(4096))
            file.flush()
            os.fsync(file.fileno())
        return time.perf_counter() - begun


def _one_by_one(shop: Shop, place: Path) -> Result:
    """Append singly, and flush a plain file in turn, so that both meet the same disk."""
    appended = used = flushed = 0.0
    for begin in range(0, SINGLY, AT_A_TIME):
        flushed += _flushed(place, AT_A_TIME)
        begun, used_before = time.perf_counter(), time.process_time()
        for number in range(begin, begin + AT_A_TIME):
            append(shop, TAG, "observation", _observation(number), at=AT, by=BY)
        appended += time.perf_counter() - begun
        used += time.process_time() - used_before
    return Result(
        "journal: entries appended one by one",
        SINGLY / appended,
        "a second",
        ("at least", min(300.0, SINGLY / flushed)),
        beside=f"SQLite, each entry checked against all before it and synced; first {SINGLY}; "
        f"CPU {1000 * used / SINGLY:.1f} ms an entry; in the same run this disk flushes a plain "
        f"file {SINGLY / flushed:.0f} times a second",
    )


def journals() -> Iterator[Result]:
    """Measure appending in SQLite with every commit synced, and verifying the chain."""
    with (
        TemporaryDirectory() as folder,
        create_shop(Path(folder) / "shop", name="bench", currency="USD") as shop,
    ):
        open_dossier(shop, INSTRUMENT, at=AT, by=BY)
        yield _one_by_one(shop, Path(folder) / "flushed")
        acts = [("observation", _observation(SINGLY + number)) for number in range(TOGETHER)]
        begun = time.perf_counter()
        append_all(shop, TAG, acts, at=AT, by=BY)
        took = (time.perf_counter() - begun) / TOGETHER
        yield Result("journal: entries appended in one act", 1 / took, "a second")
        lines = shop.journals.lines(TAG)
        if verify_lines(lines).verdict is not Verdict.SOUND:
            raise RuntimeError("the journal just written does not verify")
        entries = [read_json(line) for line in lines]
        took = seconds(lambda: [seal(one, bytes(32)) for one in entries]) / len(lines)
        yield Result("journal: an entry sealed", 1e6 * took, "µs", ("at most", 250))
        took = seconds(lambda: verify_lines(lines)) / len(lines)
        yield Result("journal: an entry verified", 1e6 * took, "µs", ("at most", 250))
        yield Result(
            "journal: entries verified",
            1 / took,
            "a second",
            beside=f"{len(lines):,} entries: form, canonical bytes, digest and link",
        )


if __name__ == "__main__":
    for one in journals():
        print(f"{one.what}: {one.figure:.0f} {one.unit}, goal {one.goal}; {one.beside}")
