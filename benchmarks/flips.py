"""Bits flipped in a shop's database: how many of those that change what it says are found.

Usage: python benchmarks/flips.py [--count 500] [--seed 20261130] [--postgres]. A flip counts when
the rows or the schema read back otherwise, or not at all; it is found when the look at the database
names anything. SQLite: any bit of its file; the database and the reading are those of
``tests/integration/test_store_soundness.py``. PostgreSQL: any bit of the files that hold the rows
of the shop's tables, flipped while the server of a throw-away cluster, without checksums of pages,
does not run.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from sqlalchemy import select

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes.databases import engine_on, starting_and_stopping
from fakes.kills import stocked_shop
from heelstamp.store.backup import fill_postgres
from heelstamp.store.soundness import database_faults
from heelstamp.store.tables import metadata
from integration.test_store_soundness import content, told


def sqlite_flips(random: np.random.Generator) -> Iterator[tuple[str, bool, bool]]:
    """Flip on and on: where, whether the content changed, and whether that was found."""
    with TemporaryDirectory() as scratch:
        stocked_shop(Path(scratch) / "shop")
        whole = (Path(scratch) / "shop" / "heelstamp.db").read_bytes()
        path = Path(scratch) / "flipped.db"
        path.write_bytes(whole)
        before = content(path)
        while True:
            byte, bit = divmod(int(random.integers(0, len(whole) * 8)), 8)
            spoilt = bytearray(whole)
            spoilt[byte] ^= 1 << bit
            for ending in ("-wal", "-shm"):
                path.with_name(path.name + ending).unlink(missing_ok=True)
            path.write_bytes(spoilt)
            if content(path) == before:
                yield f"byte {byte}, bit {bit}", False, False
                continue
            try:
                named: list[Any] = told(path)
            except Exception as error:  # noqa: BLE001 - a refusal to read it is a finding too
                named = [str(error)]
            yield f"byte {byte}, bit {bit}", True, bool(named)


@contextmanager
def looking(address: str) -> Iterator[Any]:
    """An engine that lets go of the server again."""
    engine = engine_on(address)
    try:
        yield engine
    finally:
        engine.dispose()


def rows_of(address: str) -> dict[str, Any]:
    """What the tables say, each read from end to end, or why they cannot say it."""
    found: dict[str, Any] = {}
    with looking(address) as engine:
        for table in metadata.sorted_tables:
            try:
                with engine.connect() as connection:
                    connection.exec_driver_sql("SET enable_indexscan = off")
                    connection.exec_driver_sql("SET enable_bitmapscan = off")
                    rows = connection.execute(select(table)).all()
                found[table.name] = sorted(map(repr, rows))
            except Exception as error:  # noqa: BLE001 - what cannot be read has changed
                found[table.name] = type(error).__name__
    return found


def postgres_flips(random: np.random.Generator) -> Iterator[tuple[str, bool, bool]]:
    """Do the same in the files of a server."""
    with (
        TemporaryDirectory() as scratch,
        starting_and_stopping() as (address, cluster, start, stop),
    ):
        stocked_shop(Path(scratch) / "shop")
        fill_postgres(address, Path(scratch) / "shop" / "heelstamp.db")
        before = rows_of(address)
        with looking(address) as engine:
            assert database_faults(engine) == ()
            wanted = (
                "SELECT pg_relation_filepath(c.oid) FROM pg_class c "
                "JOIN pg_class t ON t.oid = c.oid OR t.reltoastrelid = c.oid "
                "WHERE t.relkind = 'r' AND "
                "t.relnamespace = 'public'::regnamespace"
            )
            with engine.connect() as connection:
                found = [cluster / "data" / one for (one,) in connection.exec_driver_sql(wanted)]
        stop()
        files = {one: one.read_bytes() for one in found if one.stat().st_size}
        names, sizes = list(files), [len(one) for one in files.values()]
        while True:
            place = int(random.integers(0, sum(sizes) * 8))
            byte, bit = divmod(place, 8)
            number = int(np.searchsorted(np.cumsum(sizes), byte, side="right"))
            byte -= sum(sizes[:number])
            path = names[number]
            spoilt = bytearray(files[path])
            if not any(spoilt[max(0, byte - 8) : byte + 8]):
                continue  # the empty middle of a page
            spoilt[byte] ^= 1 << bit
            path.write_bytes(spoilt)
            start()
            changed = rows_of(address) != before
            try:
                with looking(address) as engine:
                    named: tuple[Any, ...] = database_faults(engine) if changed else ()
            except Exception as error:  # noqa: BLE001 - a refusal to read it is a finding too
                named = (str(error),)
            yield f"{path.name}, byte {byte}, bit {bit}", changed, bool(named)
            try:
                stop()
            except subprocess.CalledProcessError:
                stop(at_once=True)
            for one, data in files.items():
                one.write_bytes(data)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20_261_130)
    parser.add_argument("--postgres", action="store_true")
    given = parser.parse_args()
    random = np.random.default_rng(given.seed)
    changed = found = tried = 0
    for where, counts, named in (postgres_flips if given.postgres else sqlite_flips)(random):
        tried, changed, found = tried + 1, changed + counts, found + named
        if counts and not named:
            print(f"missed: {where}", flush=True)
        if changed == given.count:
            break
    print(f"{found} of {changed} flips that change the content found ({tried} tried)")
    return 0 if found == changed else 1


if __name__ == "__main__":
    sys.exit(main())
