"""``own-record``: entered beside what had been said, counted, and printed once there is enough."""

import json
from pathlib import Path

import pytest

from fakes.commands import type_command
from fakes.web_shop import TAG
from heelstamp.casework.new_entry import NewEntry
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.own_record import later_known
from heelstamp.shop.reports import report_document, told_to

CODE = {
    "id": "m",
    "part": "neck",
    "kind": "mark",
    "status": "read",
    "text": "65/03 R",
    "readings": [{"period": "1965-03", "weight": 1.0}],
}


@pytest.fixture
def seen(shop: Path) -> Path:
    with OpenShop(shop) as opened:
        opened.enter(TAG, [NewEntry("observation", CODE)], by="examiner A")
    return shop


def add(shop: Path, about: str, *words: str) -> dict[str, object]:
    told = ("--source", "a bill of 1965", "--json", "--shop", shop)
    done = type_command("own-record", "add", TAG, about, *words, *told, cwd=shop)
    assert done.code == 0, done.err
    entry: dict[str, object] = json.loads(done.out)
    return entry


def test_what_became_known_is_kept_beside_what_had_been_said(seen: Path) -> None:
    said = json.loads(type_command("date", TAG, "--json", "--shop", seen, cwd=seen).out)
    neck = add(seen, "part:neck", "--original")
    assert neck["stated"] == pytest.approx(said["parts"]["neck"]["original"], abs=1e-6)
    assert neck["finding"] == said["digest"]
    date = add(seen, "date", "--from", "1965-06")
    assert date["nine_tenths"] == said["completion"]["interval"]["90"]
    shown = json.loads(type_command("own-record", "show", "--json", "--shop", seen, cwd=seen).out)
    assert (shown["parts"], shown["dates"], shown["instruments"]) == (1, 1, 1)
    text = type_command("own-record", "show", "--shop", seen, cwd=seen).out
    assert "2 cases so far" in text
    assert "papers tell of it from 20 on" in " ".join(text.split())


def test_what_does_not_fit_is_refused_and_nothing_is_entered(seen: Path) -> None:
    for words in (("neck", "--original"), ("part:neck",), ("date", "--original")):
        told = ("--source", "x", "--shop", seen)
        assert type_command("own-record", "add", TAG, *words, *told, cwd=seen).code == 2
    shown = json.loads(type_command("own-record", "show", "--json", "--shop", seen, cwd=seen).out)
    assert shown["parts"] + shown["dates"] == 0


def test_papers_tell_of_it_from_twenty_cases_on(seen: Path) -> None:
    with OpenShop(seen) as opened:
        keys = list(opened.finding(TAG).parts)[1:21]
        for number, key in enumerate(keys, start=1):
            about = f"part:{key}"
            entry = later_known(
                opened, TAG, about, source="a bill", original=number % 4 > 0, months=None
            )
            opened.enter(TAG, [entry], by="examiner A")
            if number < len(keys) - 1:
                continue
            told = told_to(opened.subject(TAG), "buyer")
            document = report_document(told, day="2026-12-01")
            enough = number == len(keys)
            assert bool(document.record_rows) == enough
            assert ("own_record.json" in told.attachments()) == enough
    assert [one.template for one in document.record] == ["own record of parts", "own record limits"]
    assert document.record_rows[0].turned_out.count(" of 20 ") <= 1
