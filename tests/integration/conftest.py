"""A real PostgreSQL for the store's tests: the one named, or a throw-away cluster.

As the superuser the cluster runs under the system's ``postgres`` user, since the server refuses
to run as root. It listens on a socket in its own folder only.
"""

import itertools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text

from fakes.databases import POSTGRES_ADDRESS, open_journals, postgres_programs
from heelstamp.store.journals import DatabaseJournals

_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """Address of a PostgreSQL server on which databases may be made."""
    if named := os.environ.get(POSTGRES_ADDRESS):
        yield named
        return
    programs = postgres_programs()
    assert programs is not None
    folder = Path(tempfile.mkdtemp(prefix="heelstamp-pg-"))
    prefix: list[str] = []
    if os.geteuid() == 0:
        prefix = ["runuser", "-u", "postgres", "--"]
        shutil.chown(folder, "postgres")
    data = folder / "data"

    def run(program: str, *arguments: str) -> None:
        command = [*prefix, str(programs / program), *arguments]
        subprocess.run(command, check=True, capture_output=True, cwd=folder)

    try:
        run("initdb", "-D", str(data), "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync")
        settings = f"-c listen_addresses='' -k {folder} -c fsync=off"
        run("pg_ctl", "-D", str(data), "-w", "-l", str(folder / "log"), "-o", settings, "start")
        try:
            yield f"postgresql://postgres@/postgres?host={folder}"
        finally:
            run("pg_ctl", "-D", str(data), "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def postgres_address(postgres_server: str) -> Iterator[str]:
    """Address of an empty database of its own."""
    url = make_url(postgres_server).set(drivername="postgresql+psycopg")
    name = f"heelstamp_test_{os.getpid()}_{next(_numbers)}"
    server = create_engine(url, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield url.set(database=name, drivername="postgresql").render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    server.dispose()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database of each kind: a path for SQLite, an address for PostgreSQL."""
    if request.param == "postgres":
        return str(request.getfixturevalue("postgres_address"))
    return str(tmp_path / "heelstamp.db")


@pytest.fixture
def journals(database: str) -> Iterator[DatabaseJournals]:
    """Open journals in a fresh database of each kind."""
    opened = open_journals(database)
    yield opened
    opened.close()
