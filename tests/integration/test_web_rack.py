"""The rack of a shop with a thousand dossiers: every one is on a sheet, and found by its tag."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fakes.kills import plain
from fakes.web_shop import INSTRUMENT, bench_of
from heelstamp.casework.dossier import open_dossier
from heelstamp.shop import create_shop, now
from heelstamp.shop.backup import make_backup

COUNT = 1000


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[TestClient]:
    folder = tmp_path / "shop"
    with create_shop(folder, name="Bench test", currency="USD") as opened:
        for number in range(1, COUNT + 1):
            one = {**INSTRUMENT, "tag": f"H-{number:04d}"}
            open_dossier(opened, one, at=now(), by="examiner A")
    with bench_of(folder) as client:
        yield client


def tags(page: str) -> list[str]:
    return re.findall(r'class="tag">([^<]+)<', page)


def test_a_thousand_dossiers(bench: TestClient) -> None:
    first = bench.get("/").text
    assert f"{COUNT} instruments" in first
    found = re.search(r"Sheet 1 of (\d+)", first)
    assert found is not None
    sheets = range(1, int(found[1]) + 1)
    every = [f"H-{number:04d}" for number in range(COUNT, 0, -1)]
    for _ in ("made now", "kept"):
        assert [tag for one in sheets for tag in tags(bench.get(f"/?sheet={one}").text)] == every
    assert tags(bench.get("/?find=h-0777").text) == ["H-0777"]
    data = {"part": "guard", "kind": "feature", "subject": "f10", "status": "absent"}
    bench.post("/dossier/H-0777/seen", data=data)
    assert "1 of" in bench.get("/?find=0777").text


def test_a_backup_that_is_due_is_said(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    with create_shop(folder, name="Bench test", currency="USD") as opened:
        with bench_of(folder) as client:
            assert "heelstamp backup" not in client.get("/").text, "nothing to lose yet"
        open_dossier(opened, INSTRUMENT, at=now(), by="examiner A")
    with bench_of(folder) as client:
        assert "No backup of this shop is known." in client.get("/").text
        make_backup(folder, plain(tmp_path / "backups"))
        assert "heelstamp backup" not in client.get("/").text
        make_backup(folder, plain(tmp_path / "old"), at="2020-01-01T00:00:00Z")
        assert re.search(r"The last backup is \d+ days old", client.get("/").text)
