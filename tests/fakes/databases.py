"""Where the tests find real databases, and how they open one of either kind."""

import itertools
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine

from heelstamp.store.accounts import DatabaseAccounts
from heelstamp.store.engine import postgres_engine, sqlite_engine
from heelstamp.store.journals import DatabaseJournals
from heelstamp.store.ledger import DatabaseLedger, Stamp
from heelstamp.store.versions import MIGRATIONS

POSTGRES_ADDRESS = "HEELSTAMP_TEST_POSTGRES"


def postgres_programs() -> Path | None:
    """Give the folder of PostgreSQL's programs, newest version first; None without any."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"),
        key=lambda path: int("".join(filter(str.isdigit, path.parts[-3])) or 0),
    )
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


def engine_on(database: str, wait_s: float = 5.0) -> Engine:
    """Give an engine on a path (SQLite) or an address (PostgreSQL)."""
    if database.startswith("postgresql"):
        return postgres_engine(database, wait_s=wait_s)
    return sqlite_engine(Path(database), wait_s=wait_s)


def open_journals(database: str, wait_s: float = 5.0) -> DatabaseJournals:
    """Open the journals in a database of either kind."""
    engine = engine_on(database, wait_s)
    return DatabaseJournals(engine, ledger_on(engine))


def ledger_on(engine: Engine) -> DatabaseLedger:
    """A ledger whose lines are stamped with one time and seeds in turn."""
    count = itertools.count(1)
    return DatabaseLedger(
        engine, lambda: Stamp("2026-11-02T09:14:00Z", "a test", next(count).to_bytes(32, "big"))
    )


def accounts_on(database: str) -> DatabaseAccounts:
    """Open the accounts in a database of either kind."""
    engine = engine_on(database)
    return DatabaseAccounts(engine, ledger_on(engine))


def make_at(path: Path, revision: str) -> None:
    """Make an SQLite database as an earlier revision of the schema had it."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    engine = sqlite_engine(path)
    with engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()


def take_back_to(path: Path, revision: str) -> None:
    """Lay an SQLite database in the form of an earlier revision, with the rows it could hold."""
    earlier = path.with_name(f"{path.name}.earlier")
    make_at(earlier, revision)
    with closing(sqlite3.connect(earlier, isolation_level=None)) as raw:
        raw.execute("ATTACH ? AS later", (str(path),))
        wanted = "SELECT name FROM main.sqlite_master WHERE type = 'table'"
        for (table,) in raw.execute(wanted).fetchall():
            if table != "alembic_version":
                raw.execute(f'INSERT INTO main."{table}" SELECT * FROM later."{table}"')
    earlier.replace(path)
