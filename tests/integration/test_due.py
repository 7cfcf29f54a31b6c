"""What is due, from the command, the page, the feed and the Rack: one list."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from fakes.web_shop import TAG, bench_of, make_shop
from heelstamp.casework.dossier import append
from heelstamp.cli.app import app
from heelstamp.shop.opened import OpenShop


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = make_shop(tmp_path_factory.mktemp("due"))
    body = {"id": "k1", "event": "received", "giver": "a consignor", "receiver": "examiner A"}
    with OpenShop(shop) as opened:
        append(opened, TAG, "custody", body, at="2026-01-02T09:00:00Z", by="examiner A")
        first = {"id": "n1", "register": "a list", "hit": False, "day": "2026-01-02"}
        append(opened, TAG, "title_search", first, at="2026-01-02T09:05:00Z", by="examiner A")
    return shop


def test_command_page_feed_and_rack_tell_the_same(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "due.ics"
    words = ["due", "--shop", str(folder), "--json", "--ics", str(file)]
    run = CliRunner().invoke(app, words, standalone_mode=False)
    rows = json.loads(run.output)
    assert {one["kind"] for one in rows} == {"consent", "search", "backup"}
    assert run.return_value == 1  # two are late
    with bench_of(folder) as bench:
        page = bench.get("/due").text
        for one in rows:
            assert one["day"] in page
        sent = bench.get("/due.ics")
        assert sent.headers["content-type"].startswith("text/calendar")
        events = sent.text.count("BEGIN:VEVENT")
        assert events == file.read_text("utf-8").count("BEGIN:VEVENT") == len(rows)
        assert "a list" in bench.get("/").text + bench.get(f"/dossier/{TAG}").text
        assert "late" in bench.get(f"/dossier/{TAG}").text


def test_an_earlier_day_has_other_dues(folder: Path) -> None:
    words = ["due", "--shop", str(folder), "--json", "--day", "2026-01-03", "--ahead", "5"]
    rows = json.loads(CliRunner().invoke(app, words, standalone_mode=False).output)
    assert [(one["kind"], one["late"]) for one in rows if one["tag"]] == [("consent", -1)]
    bad = CliRunner().invoke(
        app, ["due", "--shop", str(folder), "--day", "2026-02-30"], standalone_mode=False
    )
    assert "not a day" in str(bad.exception)
