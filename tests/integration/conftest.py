"""Shops, their bench, the command line and a real PostgreSQL, each defined once.

The PostgreSQL is the one named, or a throw-away cluster that all processes of a run share. As the
superuser the cluster runs under the system's ``postgres`` user, since the server refuses
to run as root. It listens on a socket in its own folder only.
"""

import itertools
import os
import shutil
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text
from starlette.testclient import TestClient

from fakes.commands import OPENING, Run, type_command
from fakes.databases import POSTGRES_ADDRESS, open_journals, shared_cluster
from fakes.demonstration import Demonstration, make_demonstration
from fakes.once import folder_of_run, once
from fakes.shared_shop import SharedShop, opened, shared_of, with_accounts
from fakes.web_shop import bench_of
from heelstamp.shop import create_shop
from heelstamp.store.journals import DatabaseJournals

_numbers = itertools.count(1)


# --- Shops, and two ways into them --------------------------------------------------------------


@pytest.fixture
def bench(shop: Path) -> Iterator[TestClient]:
    """The bench of that shop."""
    with bench_of(shop) as client:
        yield client


@pytest.fixture(scope="module")
def lasting_shop(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one dossier, for all tests of a module."""
    return shutil.copytree(new_shop, tmp_path_factory.mktemp("lasting") / "shop")


@pytest.fixture(scope="module")
def lasting_bench(lasting_shop: Path) -> Iterator[TestClient]:
    """The bench of that shop."""
    with bench_of(lasting_shop) as client:
        yield client


@pytest.fixture(scope="session")
def new_shared(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one dossier and an account of each role, to be copied."""
    return with_accounts(shutil.copytree(new_shop, tmp_path_factory.mktemp("shared") / "shop"))


@pytest.fixture
def shared(new_shared: Path, tmp_path: Path) -> Iterator[SharedShop]:
    """A shared shop; its passwords are hashed quickly and its clock is turned by the test."""
    made = shared_of(shutil.copytree(new_shared, tmp_path / "shop"))
    with opened(made):
        yield made


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """The command line, typed in a folder of the test's own."""
    return partial(type_command, cwd=tmp_path)


@pytest.fixture
def empty_shop(tmp_path: Path) -> Path:
    """A shop without a dossier."""
    folder = tmp_path / "shop"
    create_shop(folder, name="Own", currency="USD").close()
    return folder


@pytest.fixture
def typed_shop(run: Run, tmp_path: Path) -> Path:
    """A shop with one dossier, both made by the command."""
    folder = tmp_path / "shop"
    made = run("new", "H-0001", "--shop", folder, *OPENING)
    assert made.code == 0, made.err
    return folder


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demonstration:
    """The demonstration, made once by its command in a whole run; this is the module's copy."""
    run_folder = folder_of_run(tmp_path_factory)
    made = once(run_folder, "demonstration", make_demonstration)
    return Demonstration(shutil.copytree(made, tmp_path_factory.mktemp("demonstration") / "typed"))


# --- Databases ----------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def postgres_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a PostgreSQL server on which databases may be made."""
    if named := os.environ.get(POSTGRES_ADDRESS):
        yield named
        return
    with shared_cluster(folder_of_run(tmp_path_factory)) as address:
        yield address


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
