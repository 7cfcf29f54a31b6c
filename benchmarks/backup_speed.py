"""Backup of a shop of a given size while four devices write to it: wall time, longest append.

Usage: python benchmarks/backup_speed.py [--megabytes 1000]. A third of it is database (entries of
3 kB), the rest files of 4 MB. A second backup of the same shop and a restore are timed too.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes.kills import decision, plain
from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.casework.dossier import append, append_all, open_dossier
from heelstamp.casework.ports import FileRecord
from heelstamp.shop import create_shop, open_shop
from heelstamp.shop.backup import make_backup, restore_backup

FILE = 4_000_000


def lay_out(folder: Path, megabytes: int) -> None:
    with create_shop(folder, name="Bench", currency="USD") as shop:
        for device in range(4):
            open_dossier(shop, {**INSTRUMENT, "tag": f"W-{device}"}, at=AT, by=BY)
        left, dossier = megabytes * 1_000_000 // 3, 0
        while left > 0:
            tag = f"H-{dossier:05d}"
            open_dossier(shop, {**INSTRUMENT, "tag": tag}, at=AT, by=BY)
            many = [("decision", decision(n) | {"reason": "x" * 3000}) for n in range(200)]
            append_all(shop, tag, many, at=AT, by=BY)
            left -= 200 * 3500
            dossier += 1
        for _ in range(megabytes * 2_000_000 // 3 // FILE):
            data = os.urandom(FILE)
            shop.journals.record_file(FileRecord(shop.files.put(data), FILE, "image/jpeg"))


def device(folder: Path, number: int, stop: Any, told: Any) -> None:
    longest, count = 0.0, 0
    with open_shop(folder) as shop:
        while not stop.is_set():
            began = time.perf_counter()
            append(shop, f"W-{number}", "decision", decision(count), at=AT, by=BY)
            longest = max(longest, time.perf_counter() - began)
            count += 1
            time.sleep(0.2)  # a quick hand at each device
    told.put((count, longest))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--megabytes", type=int, default=1000)
    given = parser.parse_args()
    with TemporaryDirectory() as scratch:
        shop, backups = Path(scratch) / "shop", plain(Path(scratch) / "backups")
        lay_out(shop, given.megabytes)
        size = sum(one.stat().st_size for one in shop.rglob("*") if one.is_file())
        database = (shop / "heelstamp.db").stat().st_size
        stop, told = multiprocessing.Event(), multiprocessing.Queue()
        devices = [
            multiprocessing.Process(target=device, args=(shop, number, stop, told))
            for number in range(4)
        ]
        for one in devices:
            one.start()
        try:
            for name in ("first", "second"):
                began, used = time.perf_counter(), time.process_time()
                made = make_backup(shop, backups)
                took, used = time.perf_counter() - began, time.process_time() - used
                print(
                    f"{name} backup: {took:.1f} s, of them CPU {used:.1f} s, load "
                    f"{os.getloadavg()[0]:.1f}, whole: {made.manifest.whole}",
                    flush=True,
                )
        finally:
            stop.set()
            written = [told.get() for _ in devices]
            for one in devices:
                one.join()
        print(
            f"{size / 1e6:.0f} MB, {database / 1e6:.0f} MB of it database; four devices: "
            f"{sum(count for count, _ in written)} entries, longest append "
            f"{1000 * max(longest for _, longest in written):.0f} ms"
        )
        began = time.perf_counter()
        restore_backup(backups, Path(scratch) / "again")
        print(f"restore: {time.perf_counter() - began:.1f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
