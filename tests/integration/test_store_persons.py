"""Persons kept alike by memory, SQLite and PostgreSQL; what is erased is not in the file."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from fakes.databases import engine_on
from fakes.stores import MemoryPersons
from heelstamp.casework.persons import Person, erase
from heelstamp.casework.ports import PersonStore
from heelstamp.store.persons import DatabasePersons
from heelstamp.store.versions import bring_up_to_date

NAME = "Ottilie Quarrenbeck-Åström 😀"
ONE = Person(
    id="p1", tag="W-0001", role="enquirer 1", name=NAME, contact="by letter", since="2026-03-01"
)


@pytest.fixture(params=["memory", "sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[PersonStore]:
    if request.param == "memory":
        yield MemoryPersons()
        return
    named = request.param == "postgres"
    address = request.getfixturevalue("postgres_address") if named else str(tmp_path / "shop.db")
    engine = engine_on(address)
    bring_up_to_date(engine)
    yield DatabasePersons(engine)
    engine.dispose()


def test_a_person_comes_back_and_is_written_anew(store: PersonStore) -> None:
    assert store.all() == ()
    store.keep(ONE)
    assert store.all() == (ONE,)
    other = Person(id="p2", tag="W-0001", role="buyer B", purpose="buyer", since="2026-03-02")
    store.keep(other)
    gone = erase(ONE, "2026-09-01")
    store.keep(gone)
    assert set(store.all()) == {gone, other}


def test_what_is_erased_is_overwritten_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "shop.db"
    engine = engine_on(str(path))
    bring_up_to_date(engine)
    store = DatabasePersons(engine)
    store.keep(ONE)
    store.keep(erase(ONE, "2026-09-01"))
    engine.dispose()  # closing the last connection brings the log into the file
    left = b"".join(one.read_bytes() for one in tmp_path.iterdir())
    assert NAME.encode() not in left
    assert b"enquirer 1" in left
