"""Schema versions: migrated from nothing, left alone when current, refused when newer."""

import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from fakes.databases import engine_on, make_at
from heelstamp.errors import ConflictError
from heelstamp.store.engine import reading_engine, sqlite_engine
from heelstamp.store.tables import metadata
from heelstamp.store.versions import MIGRATIONS, NEWEST, bring_up_to_date, version_of


def test_the_newest_revision_is_the_head_of_the_scripts() -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    assert ScriptDirectory.from_config(config).get_heads() == [NEWEST]


def test_migrating_makes_exactly_the_tables_the_program_uses(database: str) -> None:
    engine = engine_on(database)
    assert version_of(engine) is None
    assert bring_up_to_date(engine) is True
    assert version_of(engine) == NEWEST
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
        # comparison does not look at checks, so they are looked at here
        for table in metadata.sorted_tables:
            found = {one["name"] for one in inspect(connection).get_check_constraints(table.name)}
            wanted = {one.name for one in table.constraints if str(one.name).startswith("ck_")}
            assert found == wanted
    engine.dispose()


def test_a_current_database_is_left_alone(database: str) -> None:
    engine = engine_on(database)
    bring_up_to_date(engine)
    assert bring_up_to_date(engine) is False
    engine.dispose()


def test_a_newer_database_is_refused_and_not_touched(database: str) -> None:
    engine = engine_on(database)
    bring_up_to_date(engine)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(ConflictError, match="made by a newer Heelstamp") as caught:
        bring_up_to_date(engine)
    assert "schema 9999" in caught.value.received
    assert "password" not in str(caught.value)
    assert version_of(engine) == "9999"
    engine.dispose()


def test_a_database_is_copied_beside_itself_before_it_is_migrated(tmp_path: Path) -> None:
    path = tmp_path / "heelstamp.db"
    engine = sqlite_engine(path)
    bring_up_to_date(engine)
    engine.dispose()
    assert [one.name for one in tmp_path.glob("*.before-*")] == [], "a new one has nothing to keep"
    for expected in (f"heelstamp.db.before-{NEWEST}", f"heelstamp.db.before-{NEWEST}-2"):
        path.unlink()
        make_at(path, "0005")
        engine = sqlite_engine(path)
        assert bring_up_to_date(engine) is True
        engine.dispose()
        copy = reading_engine(tmp_path / expected)
        assert version_of(copy) == "0005"
        copy.dispose()


def test_foreign_keys_are_on_again_after_a_migration(tmp_path: Path) -> None:
    engine = sqlite_engine(tmp_path / "heelstamp.db")
    bring_up_to_date(engine)
    with engine.connect() as connection:
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1
        assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"
        assert connection.execute(text("PRAGMA synchronous")).scalar() == 2  # FULL
    engine.dispose()


def test_a_current_database_opens_without_the_migration_library(tmp_path: Path) -> None:
    path = tmp_path / "heelstamp.db"
    engine = sqlite_engine(path)
    bring_up_to_date(engine)
    engine.dispose()
    program = (
        "import sys; from pathlib import Path; from heelstamp.store.engine import sqlite_engine; "
        "from heelstamp.store.journals import DatabaseJournals; "
        "from heelstamp.store.ledger import DatabaseLedger; "
        f"engine = sqlite_engine(Path({str(path)!r})); "
        "DatabaseJournals(engine, DatabaseLedger(engine, lambda: None)).close(); "
        "sys.exit('alembic' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
