"""One price opens the shop once and reads its comparables once, from the command and the page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import TAG, bench_of, make_shop
from heelstamp.cli.app import app
from heelstamp.store import comparables, engine

SALES = Path(__file__).parents[2] / "examples" / "wherry-sales.csv"
Counted = Counter[str]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one guitar, one mark on it, and the invented sales."""
    shop = make_shop(tmp_path_factory.mktemp("reads"))
    with bench_of(shop) as client:
        table = {"table": ("sales.csv", SALES.read_bytes(), "text/csv")}
        assert client.post(f"/dossier/{TAG}/money/comparables", files=table).status_code == 200
        mark = {"part": "neck", "text": "65/03 R", "id": "o1"}
        assert client.post(f"/dossier/{TAG}/mark", data=mark).status_code == 200
    return shop


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Iterator[Counted]:
    """How often a database is opened, and comparables are read from one."""
    found: Counted = Counter()
    opens, reads = engine.sqlite_engine, comparables.DatabaseComparables.rows

    def opened(*given: Any, **named: Any) -> Any:
        found["opened"] += 1
        return opens(*given, **named)

    def read(*given: Any) -> Any:
        found["read"] += 1
        return reads(*given)

    monkeypatch.setattr("heelstamp.store.engine.sqlite_engine", opened)
    monkeypatch.setattr("heelstamp.store.sqlite_engine", opened, raising=False)
    monkeypatch.setattr(comparables.DatabaseComparables, "rows", read)
    return found


@pytest.mark.parametrize(
    "words",
    [("price", TAG, "--as-of", "2026-11", "--json"), ("next", TAG, "--json")],
    ids=["price", "next"],
)
def test_a_command_opens_the_shop_once(
    folder: Path, counted: Counted, words: tuple[str, ...]
) -> None:
    done = CliRunner().invoke(app, [*words, "--shop", str(folder)], standalone_mode=False)
    assert done.exception is None, done.output
    assert counted == {"opened": 1, "read": 1}


def test_a_page_opens_nothing_and_reads_once(folder: Path, counted: Counted) -> None:
    client: TestClient
    with bench_of(folder) as client:
        begun = counted["opened"]
        for address, reads in (
            (f"/dossier/{TAG}/money", 1),
            (f"/dossier/{TAG}/money", 0),
            (f"/dossier/{TAG}/money?offer=9000", 1),
            (f"/dossier/{TAG}/money?looked=true", 1),
            (f"/dossier/{TAG}/money?looked=true", 0),
        ):
            counted["read"] = 0
            assert client.get(address).status_code == 200
            assert counted == {"opened": begun, "read": reads}, address
