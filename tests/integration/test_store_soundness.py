"""Flips in a shop's database are found: every one that changes what the database says."""

from __future__ import annotations

import re
import shutil
import sqlite3
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from fakes.databases import accounts_on, engine_on
from fakes.stores import INSTRUMENT
from heelstamp.casework.dossier import append_all, open_dossier
from heelstamp.casework.ports import CensusRecord, FileRecord
from heelstamp.casework.sharing import Account, Role
from heelstamp.shop import create_shop
from heelstamp.shop.settings import DATABASE_FILE
from heelstamp.store.engine import sqlite_engine
from heelstamp.store.soundness import database_faults

MAKER = "sallowby-wherry"
AT = "2026-11-02T09:14:00Z"
SALE, ROW = '["sallowby-wherry","s3"]', '["sallowby-wherry","c1"]'
SECOND = "WHERE seq = 2 AND dossier_id = 1"
FLIPS = 150
"""Bits flipped in the suite; the figure over 500 stands with the benchmarks."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with something in every covered table."""
    folder = tmp_path_factory.mktemp("sound") / "shop"
    with create_shop(folder, name="Test shop", currency="USD") as shop:
        for number in (1, 2):
            one = {**INSTRUMENT, "tag": f"H-{number:04d}"}
            open_dossier(shop, one, at=AT, by="examiner A")
            body = {"id": "w1", "about": "a thing", "decided": "a word", "reason": "ground"}
            append_all(shop, one["tag"], [("decision", body)], at=AT, by="examiner A")
        shop.comparables.add(MAKER, [(f"s{n}", f'{{"p":{9000 + n}}}') for n in range(9)])
        shop.census.add(
            MAKER, [CensusRecord(f"c{n}", "read", "[]", "[]", "0" * 64, None) for n in range(5)]
        )
        shop.census.conclude(MAKER, {"c1": "{}"})
        shop.journals.record_file(FileRecord("a" * 64, 12, "image/jpeg"))
        shop.journals.keep_findings("date", {"b" * 64: b"{}"})
    return folder / DATABASE_FILE


def told(path: Path) -> list[str]:
    engine = sqlite_engine(path)
    try:
        return [f"{one.where}: {one.code}" for one in database_faults(engine)]
    finally:
        engine.dispose()


def test_an_untouched_database_is_sound(kept: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(kept, tmp_path))
    assert told(path) == []


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE comparable SET text = '{}' WHERE row = 's3'", f"comparable {SALE}: changed"),
        ("DELETE FROM comparable WHERE row = 's3'", f"comparable {SALE}: missing"),
        ("UPDATE census SET conclusion = NULL WHERE row = 'c1'", f"census {ROW}: changed"),
        ("UPDATE finding SET text = '[]'", f'finding ["{"b" * 64}"]: changed'),
        ("UPDATE file SET size = 13", f'file ["{"a" * 64}"]: changed'),
        (f"UPDATE entry SET hand = 'x' {SECOND}", "entry 1/2: repeated"),
        (f"UPDATE entry SET at = '2020-01-01 00:00:00' {SECOND}", "entry 1/2: repeated"),
        ("UPDATE dossier SET head_digest = 'x' WHERE id = 1", "dossier 'H-0001': repeated"),
        ("UPDATE dossier SET tag = 'H-0007' WHERE id = 1", "dossier [1]: changed"),
        ("UPDATE comparable SET place = 'two' WHERE row = 's3'", "comparable.place: type"),
        ("DROP INDEX ix_census_chronology", "index ix_census_chronology of census: schema"),
        ("DELETE FROM ledger_row WHERE n = 3", "ledger, line 3: ledger"),
    ],
)
def test_what_another_tool_changed_is_named(
    statement: str, named: str, kept: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(kept, tmp_path))
    with sqlite3.connect(path) as raw:
        raw.execute(statement)
    raw.close()
    assert named in told(path)


def content(path: Path) -> object:
    """What a database says, or why it cannot say it."""
    raw = sqlite3.connect(path)
    raw.text_factory = bytes
    try:
        tables = [one for (one,) in raw.execute("SELECT name FROM sqlite_master ORDER BY name")]
        named = [one.decode("utf-8", "surrogateescape") for one in tables if one]
        rows = {}
        for name in named:
            try:
                rows[name] = sorted(map(repr, raw.execute(f'SELECT * FROM "{name}"')))
            except (sqlite3.OperationalError, UnicodeDecodeError) as error:
                rows[name] = [str(error)]
        rows["sqlite_master"] = [
            " ".join(re.sub(r"\\(n|t|r|x0b|x0c)", " ", repr(one)).split())
            for one in raw.execute("SELECT * FROM sqlite_master")
        ]
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        return str(error)
    finally:
        raw.close()
    return rows


def test_every_flip_that_changes_the_content_is_found(kept: Path, tmp_path: Path) -> None:
    whole = kept.read_bytes()
    before = content(kept)
    random = np.random.default_rng(20_261_130)
    path = tmp_path / "flipped.db"
    changed, missed = 0, []
    for place in random.integers(0, len(whole) * 8, size=20 * FLIPS):
        byte, bit = divmod(int(place), 8)
        spoilt = bytearray(whole)
        spoilt[byte] ^= 1 << bit
        for ending in ("-wal", "-shm"):
            path.with_name(path.name + ending).unlink(missing_ok=True)
        path.write_bytes(spoilt)
        if content(path) == before:
            continue
        changed += 1
        try:
            found = told(path)
        except Exception as error:  # noqa: BLE001 - a refusal to read it is a finding too
            found = [str(error)]
        if not found:
            missed.append((byte, bit))
        if changed == FLIPS:
            break
    assert changed > FLIPS // 2
    assert missed == []


@pytest.mark.postgres
def test_it_holds_on_postgresql(postgres_address: str) -> None:
    engine = engine_on(postgres_address)
    store = accounts_on(postgres_address)
    made = Account("keeper", Role.OWNER, "$x", datetime.fromisoformat(AT))
    store.add(made)
    assert database_faults(engine) == ()
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE account SET role = 'reader' WHERE name = 'keeper'")
    assert [one.where for one in database_faults(engine)] == ['account ["keeper"]']
    store.close()
    engine.dispose()
