"""Shipping from page and command: packed, prompted, the logger's file read on arrival."""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import TAG, add_frame, bench_of, flat, make_shop
from heelstamp.catalogue import Packing, TransitLog
from heelstamp.cli.app import app
from heelstamp.shop.opened import OpenShop

PAGE = f"/dossier/{TAG}/shipping"
LOG = "Time,Temp °C,RH\n2026-01-10 08:00,18.0,45\n2026-01-10 09:00,18.5,45\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_shop(tmp_path)


@pytest.fixture
def bench(folder: Path) -> Iterator[TestClient]:
    with bench_of(folder) as opened:
        yield opened


def shown(bench: TestClient, **asked: str) -> str:
    return flat(html.unescape(bench.get(PAGE, params=asked).text))


def test_a_packing_is_entered_and_its_route_prompted(bench: TestClient, folder: Path) -> None:
    frame = add_frame(bench, "packed")
    told = {"route": "jp", "weight_g": "6200", "length_mm": "1200", "width_mm": "450"}
    answer = bench.post(f"{PAGE}/packed", data=told)
    assert answer.status_code == 422  # no height
    told |= {"height_mm": "180,5", "tuned_down": "2", "seal": "tape 7", "value": "9,100"}
    assert bench.post(f"{PAGE}/packed", data={**told, "frames": [frame]}).status_code == 200
    page = shown(bench)
    assert "This route is not known here (JP): ask its authority" in page
    assert "6200 g, 1200 × 450 × 180.5 mm" in page
    assert "with this packing: loose parts, bagged apart; case in its box" in page
    assert f'photographs/{frame}"' in page
    assert page.count("not taken") == 3
    by_plan = [add_frame(bench, one) for one in ("loose-bagged", "parcel-open", "parcel-sealed")]
    again = {**told, "frames": [frame, *by_plan]}
    assert bench.post(f"{PAGE}/packed", data=again).status_code == 200
    assert "Photographs of the packing: all 4 of the plan." in shown(bench)
    assert "Is a battery inside" in page
    assert "not a route" in shown(bench, to="J1").casefold()
    with OpenShop(folder) as shop:
        one, _ = shop.subject(TAG).state.of(Packing).values()
    assert (one.route, one.value, one.currency) == ("JP", "9100.00", "USD")


def test_an_answer_about_a_material_ends_in_one_full_stop(bench: TestClient) -> None:
    told = {
        "id": "law-1",
        "rule": "dalbergia_nigra",
        "answer": "Not determined; sold at home alone.",
        "reason": "Asked.",
    }
    board = {
        "id": "board",
        "part": "neck",
        "kind": "feature",
        "status": "read",
        "feature": "f05",
        "variant": "rosewood-like",
    }
    entries = [{"kind": "observation", "body": board}, {"kind": "material", "body": told}]
    sent = {"by": "examiner A", "entries": entries}
    assert bench.post(f"/api/dossiers/{TAG}/entries", json=sent).status_code == 201
    page = shown(bench, to="US")
    assert "Answered: Not determined; sold at home alone." in page
    assert "alone.." not in page


def test_a_logger_is_read_and_one_that_cannot_be_is_not_kept(
    bench: TestClient, folder: Path
) -> None:
    room = {"room_c": "21", "room_rh": "45"}
    bad = {"file": ("log.csv", b"Time,Temp\n2026-01-10 08:00,x\n2026-01-10 09:00,5\n", "text/csv")}
    assert bench.post(f"{PAGE}/log", data=room, files=bad).status_code == 422
    good = {"file": ("log.csv", LOG.encode(), "text/csv")}
    assert bench.post(f"{PAGE}/log", data=room, files=good).status_code == 200
    page = shown(bench)
    assert "18.0 to 18.5 °C inside" in page
    assert "Open it not before 2026-01-10 09:00" in page
    with OpenShop(folder) as shop:
        assert len(shop.subject(TAG).state.of(TransitLog)) == 1


def test_the_command_tells_the_same(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text(LOG, "utf-8")
    words = ["shipping", "log", str(file), "--room", "21", "--humidity", "80"]
    run = CliRunner().invoke(app, words, standalone_mode=False)
    assert run.return_value == 1  # a dew point of 17.4 °C: it stays closed
    assert "Keep the case shut" in run.output
    words = ["shipping", "pack", TAG, "--to", "US", "--weight", "6200", "--size", "1200x450x180"]
    run = CliRunner().invoke(app, [*words, "--shop", str(folder)], standalone_mode=False)
    assert "No seal is entered" in run.output
    assert "not known here" not in run.output
