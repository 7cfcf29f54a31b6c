"""The census's promises, kept alike by memory, SQLite and PostgreSQL."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from fakes.databases import engine_on, ledger_on
from fakes.stores import MemoryCensus
from heelstamp.casework.ports import CensusRecord, CensusStore
from heelstamp.errors import ConflictError
from heelstamp.store import census as module
from heelstamp.store.census import DatabaseCensus
from heelstamp.store.versions import bring_up_to_date, version_of

WHERRY = "sallowby-wherry"


def record(id_: str, conclusion: str | None = None) -> CensusRecord:
    return CensusRecord(id_, "marks", '[{"note":"schräg 😀"}]', '{"e":[]}', "a" * 64, conclusion)


@pytest.fixture(params=["memory", "sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[CensusStore]:
    if request.param == "memory":
        yield MemoryCensus()
        return
    named = request.param == "postgres"
    address = request.getfixturevalue("postgres_address") if named else str(tmp_path / "shop.db")
    engine = engine_on(address)
    bring_up_to_date(engine)
    yield DatabaseCensus(engine, ledger_on(engine))
    engine.dispose()


def test_a_new_census_is_empty(store: CensusStore) -> None:
    assert store.chronologies() == ()
    assert store.count(WHERRY) == 0
    assert list(store.rows(WHERRY)) == []
    store.add(WHERRY, [])
    store.conclude(WHERRY, {})
    assert store.chronologies() == ()


def test_rows_come_back_as_they_were_added_and_in_order(
    store: CensusStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "PAGE", 4)
    ids = [f"r{number}" for number in (9, 1, 5, 3, 7, 2, 8, 4)]
    rows = [record(one) for one in ids]
    store.add(WHERRY, rows[:5])
    store.add(WHERRY, rows[5:])
    store.add("sallowby-lockkeeper", [record("r1")])
    assert list(store.rows(WHERRY)) == rows
    assert [one.observations for one in store.rows(WHERRY, whole=False)] == [""] * 8
    assert [one.id for one in store.rows(WHERRY, whole=False)] == ids
    assert store.read_otherwise(WHERRY, "a" * 64) == 0
    assert store.read_otherwise(WHERRY, "b" * 64) == 8
    assert store.count(WHERRY) == 8
    assert store.chronologies() == ("sallowby-lockkeeper", WHERRY)


def test_a_row_that_is_there_keeps_all_others_out(store: CensusStore) -> None:
    store.add(WHERRY, [record("r1")])
    with pytest.raises(ConflictError, match="in the census already"):
        store.add(WHERRY, [record("r2"), record("r1")])
    with pytest.raises(ConflictError, match="in the census already"):
        store.add(WHERRY, [record("r3"), record("r3")])
    assert [one.id for one in store.rows(WHERRY)] == ["r1"]


def test_only_conclusions_change(store: CensusStore) -> None:
    store.add(WHERRY, [record("r1"), record("r2", "old")])
    store.add("sallowby-lockkeeper", [record("r1")])
    store.conclude(WHERRY, {"r1": "new", "nobody": "x"})
    assert list(store.rows(WHERRY)) == [record("r1", "new"), record("r2", "old")]
    assert list(store.rows("sallowby-lockkeeper")) == [record("r1")]


def test_a_database_of_the_first_schema_is_brought_up_to_date_with_its_dossiers(
    database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from alembic import command
    from alembic.config import Config

    from heelstamp.store.versions import MIGRATIONS

    engine = engine_on(database)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    with engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.execute(
            text("INSERT INTO dossier (tag, head_seq, head_digest) VALUES ('H-1', 1, 'x')")
        )
    assert version_of(engine) == "0001"
    assert bring_up_to_date(engine) is True
    DatabaseCensus(engine, ledger_on(engine)).add(WHERRY, [record("r1")])
    with engine.connect() as connection:
        assert connection.execute(text("SELECT tag FROM dossier")).scalar() == "H-1"
    engine.dispose()
