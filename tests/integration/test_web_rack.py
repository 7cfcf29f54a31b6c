"""The rack of a shop with a thousand dossiers: every one is on a sheet, and found by its tag."""

from __future__ import annotations

import random
import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fakes.kills import plain
from fakes.web_shop import INSTRUMENT, TAG, bench_of
from heelstamp.casework.dossier import open_dossier, open_with
from heelstamp.casework.new_entry import NewEntry
from heelstamp.marks.misread import near_numbers
from heelstamp.shop import create_shop, now
from heelstamp.shop.backup import make_backup
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.rack import numbers_near
from heelstamp.shop.settings import DATABASE_FILE
from heelstamp.shop.soundness import shop_faults

COUNT = 1000


@pytest.fixture
def full_rack(tmp_path: Path) -> Iterator[TestClient]:
    folder = tmp_path / "shop"
    with create_shop(folder, name="Bench test", currency="USD") as opened:
        for number in range(1, COUNT + 1):
            one = {**INSTRUMENT, "tag": f"H-{number:04d}"}
            open_dossier(opened, one, at=now(), by="examiner A")
    with bench_of(folder) as client:
        yield client


def tags(page: str) -> list[str]:
    return re.findall(r'class="tag">([^<]+)<', page)


def test_a_thousand_dossiers(full_rack: TestClient) -> None:
    first = full_rack.get("/").text
    assert f"{COUNT} instruments" in first
    found = re.search(r"Sheet 1 of (\d+)", first)
    assert found is not None
    sheets = range(1, int(found[1]) + 1)
    every = [f"H-{number:04d}" for number in range(COUNT, 0, -1)]
    for _ in ("made now", "kept"):
        assert [
            tag for one in sheets for tag in tags(full_rack.get(f"/?sheet={one}").text)
        ] == every
    assert tags(full_rack.get("/?find=h-0777").text) == ["H-0777"]
    data = {"part": "guard", "kind": "feature", "subject": "f10", "status": "absent"}
    full_rack.post("/dossier/H-0777/seen", data=data)
    assert "1 of" in full_rack.get("/?find=0777").text


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


SERIALS = ("S10350", "S18350", "S10351", "s 10350", "S1O3", "S1?350", "B99999", "S16360", "S17341")


def brute(mine: str, listed: dict[str, str]) -> set[tuple[str, str]]:
    """What may be near, by comparing with every number there is."""
    near = {one.number for one in near_numbers(mine, listed.values())}
    return {(tag, number) for tag, number in listed.items() if number in near}


def test_no_near_number_of_another_dossier_is_left_out(tmp_path: Path) -> None:
    folder, draw = tmp_path / "shop", random.Random(8)
    listed = {
        f"H-{number:04d}": "".join(draw.choice("S0136589?") for _ in range(draw.choice([5, 6, 7])))
        for number in range(60)
    } | {f"N-{number}": one for number, one in enumerate(SERIALS)}
    with create_shop(folder, name="Bench test", currency="USD") as opened:
        for tag, number in listed.items():
            seen = {"id": "s", "part": "neck_plate", "kind": "serial", "status": "read"}
            entries = [("instrument", {**INSTRUMENT, "tag": tag}),
                       ("observation", {**seen, "text": number})]  # fmt: skip
            open_with(opened, entries, at=now(), by="examiner A")
    with OpenShop(folder) as shop:
        for mine in (*SERIALS, "S1????", "S13", *list(listed.values())[:20]):
            found = set(numbers_near(shop, [mine], but=""))
            assert brute(mine, listed) <= found, mine
            assert len(found) < len(listed) or "?" in mine
        body = {"id": "c", "corrects": "s", "reason": "misread",
                "replacement": {**seen, "text": "S11111"}}  # fmt: skip
        shop.enter("N-0", [("correction", body)], by="examiner A")  # type: ignore[list-item]
        assert ("N-0", "S11111") in numbers_near(shop, ["S11111"], but="")
        assert ("N-0", "S10350") not in numbers_near(shop, ["S10350"], but="")
        assert "N-0" not in dict(numbers_near(shop, ["S11111"], but="N-0"))


def test_a_number_spoilt_beside_the_rack_is_found_and_made_anew(shop: Path) -> None:
    seen = {"id": "s", "part": "neck_plate", "kind": "serial", "status": "read", "text": "S10350"}
    with OpenShop(shop) as opened:
        opened.enter(TAG, [NewEntry("observation", seen)], by="examiner A")
        assert numbers_near(opened, ["S10350"], but="") == [(TAG, "S10350")]
    with sqlite3.connect(shop / DATABASE_FILE) as raw:
        raw.execute("UPDATE listed_number SET number = 'S19350'")
    raw.close()
    assert [one.code for one in shop_faults(shop)] == ["changed"]
    assert shop_faults(shop) == ()
    with OpenShop(shop) as opened:
        assert numbers_near(opened, ["S10350"], but="") == [(TAG, "S10350")]
