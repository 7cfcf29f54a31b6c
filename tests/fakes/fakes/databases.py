"""Where the tests find real databases, and how they open one of either kind."""

import itertools
import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from sqlalchemy import Engine

from fakes.once import locked
from heelstamp.store.accounts import DatabaseAccounts
from heelstamp.store.engine import postgres_engine, sqlite_engine
from heelstamp.store.journals import DatabaseJournals
from heelstamp.store.ledger import DatabaseLedger, Stamp
from heelstamp.store.versions import MIGRATIONS

POSTGRES_ADDRESS = "HEELSTAMP_TEST_POSTGRES"


def postgres_programs() -> Path | None:
    """The folder of PostgreSQL's programs, newest version first; None without any."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"),
        key=lambda path: int("".join(filter(str.isdigit, path.parts[-3])) or 0),
    )
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


@contextmanager
def shared_cluster(folder: Path) -> Iterator[str]:
    """Address of a throw-away cluster that all processes naming *folder* share.

    The first that comes starts it, the last that leaves stops it.
    """
    users, place = folder / "postgres-users", folder / "postgres-place"
    with locked(folder / "postgres.lock"):
        count = int(users.read_text()) if users.exists() else 0
        if not count:
            place.write_text(str(_start_cluster()))
        users.write_text(str(count + 1))
        cluster = Path(place.read_text())
    try:
        yield f"postgresql://postgres@/postgres?host={cluster}"
    finally:
        with locked(folder / "postgres.lock"):
            count = int(users.read_text()) - 1
            users.write_text(str(count))
            if not count:
                _stop_cluster(cluster)


def _cluster_program(cluster: Path, program: str, *arguments: str) -> None:
    programs = postgres_programs()
    assert programs is not None
    prefix = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    command = [*prefix, str(programs / program), "-D", str(cluster / "data"), *arguments]
    subprocess.run(command, check=True, capture_output=True, cwd=cluster)


def _start_cluster() -> Path:
    cluster = Path(tempfile.mkdtemp(prefix="heelstamp-pg-"))
    try:
        if os.geteuid() == 0:
            shutil.chown(cluster, "postgres")
        _cluster_program(
            cluster, "initdb", "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync"
        )
        _start_server(cluster)
    except BaseException:
        shutil.rmtree(cluster, ignore_errors=True)
        raise
    return cluster


def _start_server(cluster: Path) -> None:
    settings = f"-c listen_addresses='' -k {cluster} -c fsync=off"
    log = str(cluster / "log")
    _cluster_program(cluster, "pg_ctl", "-w", "-l", log, "-o", settings, "start")


@contextmanager
def starting_and_stopping() -> Iterator[tuple[str, Path, Callable[[], None], Callable[..., None]]]:
    """A cluster of one's own: address, folder, and what starts and stops its server.

    To stop waits until all is written; with ``at_once=True`` it does not.
    """
    cluster = _start_cluster()

    def stop(*, at_once: bool = False) -> None:
        mode = "immediate" if at_once else "fast"
        _cluster_program(cluster, "pg_ctl", "-w", "-m", mode, "stop")

    try:
        address = f"postgresql://postgres@/postgres?host={cluster}"
        yield address, cluster, lambda: _start_server(cluster), stop
    finally:
        with suppress(subprocess.CalledProcessError):
            stop(at_once=True)
        shutil.rmtree(cluster, ignore_errors=True)


def _stop_cluster(cluster: Path) -> None:
    try:
        _cluster_program(cluster, "pg_ctl", "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(cluster, ignore_errors=True)


def engine_on(database: str, wait_s: float = 5.0) -> Engine:
    """An engine on a path (SQLite) or an address (PostgreSQL)."""
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
