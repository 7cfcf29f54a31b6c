"""Comparables kept alike by memory, SQLite and PostgreSQL."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from fakes.databases import engine_on, ledger_on
from fakes.stores import MemoryComparables
from heelstamp.casework.ports import ComparableStore
from heelstamp.errors import ConflictError
from heelstamp.store.comparables import DatabaseComparables
from heelstamp.store.versions import bring_up_to_date

WHERRY = "sallowby-wherry"


@pytest.fixture(params=["memory", "sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[ComparableStore]:
    if request.param == "memory":
        yield MemoryComparables()
        return
    named = request.param == "postgres"
    address = request.getfixturevalue("postgres_address") if named else str(tmp_path / "shop.db")
    engine = engine_on(address)
    bring_up_to_date(engine)
    yield DatabaseComparables(engine, ledger_on(engine))
    engine.dispose()


def test_a_new_shop_has_none(store: ComparableStore) -> None:
    assert store.markets() == ()
    assert store.rows(WHERRY) == ()
    assert store.count(WHERRY) == 0
    store.add(WHERRY, [])
    assert store.markets() == ()


def test_rows_come_back_as_they_were_added_and_in_order(store: ComparableStore) -> None:
    rows = [(f"r{n}", f'{{"note":"schräg 😀 {n}"}}') for n in (9, 1, 5, 3)]
    store.add(WHERRY, rows[:2])
    store.add(WHERRY, rows[2:])
    store.add("sallowby-lockkeeper", [("r1", "{}")])
    assert store.rows(WHERRY) == tuple(rows)
    assert store.count(WHERRY) == 4
    assert store.markets() == ("sallowby-lockkeeper", WHERRY)


def test_a_row_that_is_there_keeps_all_others_out(store: ComparableStore) -> None:
    store.add(WHERRY, [("r1", "{}")])
    for rows in ([("r2", "{}"), ("r1", "{}")], [("r3", "{}"), ("r3", "{}")]):
        with pytest.raises(ConflictError, match="kept already"):
            store.add(WHERRY, rows)
    assert store.rows(WHERRY) == (("r1", "{}"),)
