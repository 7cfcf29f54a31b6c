"""Enquiries from page and command: answered from the findings, names apart, a hit stops them."""

from __future__ import annotations

import html
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from fakes.sales import AT, BY
from fakes.web_shop import TAG, add_frame, bench_of, flat, make_shop
from heelstamp.casework.dossier import append
from heelstamp.casework.sharing import NotPermittedError
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import Hand
from heelstamp.cli.app import app
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.due import due_in
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.persons import erase_person, keep_retention, persons_kept

NAME = "Ottilie Quarrenbeck"
PAGE = f"/dossier/{TAG}/enquiries"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_shop(tmp_path)


@pytest.fixture
def bench(folder: Path) -> Iterator[TestClient]:
    with bench_of(folder) as opened:
        yield opened


def say(bench: TestClient, event: str, **told: str | list[str]) -> int:
    data = {"party": "enquirer 1", "event": event, **told}
    return bench.post(f"{PAGE}/said", data=data).status_code


def shown(bench: TestClient, **asked: str) -> str:
    return flat(html.unescape(bench.get(PAGE, params=asked).text))


def test_a_question_is_answered_from_the_findings_and_its_name_stays_out_of_the_journal(
    bench: TestClient, folder: Path
) -> None:
    told = {"text": "What does it weigh?", "name": NAME, "contact": "by letter"}
    assert say(bench, "asked", **told) == 200
    page = shown(bench, to="enquirer 1")
    assert NAME in page
    assert "This was not examined" in page
    body = {"id": "m1", "quantity": "weight", "part": "body", "value": 3512.0, "unit": "g"}
    with OpenShop(folder) as shop:
        told_ = {**body, "stage": "found"}
        append(shop, TAG, "measurement", told_, at=AT.format(2), by=BY)
    page = shown(bench, to="enquirer 1")
    assert "From the findings" in page
    assert "3512" in page or "3,512" in page
    bench.post(f"{PAGE}/answered", data={"party": "enquirer 1"})
    page = shown(bench)
    assert "Told:" in page
    assert "1 to answer" not in page
    assert "What does it weigh" in bench.get(f"/dossier/{TAG}/questions").text
    with OpenShop(folder) as shop:
        assert not any(NAME.encode() in line for line in shop.journals.lines(TAG))


def test_a_viewing_is_set_and_seen_with_frames_before_and_after(
    bench: TestClient, folder: Path
) -> None:
    assert say(bench, "viewing set", on="2026-01-01") == 422  # a day that is past
    assert say(bench, "viewing set", on="2099-01-01") == 200
    before = add_frame(bench, "overall-front")
    assert say(bench, "viewed") == 422
    assert say(bench, "viewed", before=[before]) == 200
    assert "No photograph was taken after Enquirer 1".casefold() in shown(bench).casefold()
    with OpenShop(folder) as shop:
        assert "after the viewing" in {one.kind for one in due_in(shop, "2099-01-01")}
    after = add_frame(bench, "overall-front", shade=90)
    assert say(bench, "viewed", after=[after]) == 200
    assert "1 photographed before and 1 after" in shown(bench)
    assert say(bench, "viewed", before=["nowhere"]) == 422
    assert say(bench, "price said", amount="8,800", said_by="the enquirer") == 200
    assert say(bench, "ended", note="Not for them.") == 200
    over = shown(bench).partition("Talks that ended")[2]
    for words in ("Not for them.", "1 photographed before and 1 after", "said 8,800 USD"):
        assert words in over


def test_a_hit_stops_prices_and_viewings_whatever_way_they_come(folder: Path) -> None:
    with OpenShop(folder) as shop:
        hit = {"id": "t1", "register": "The police list", "hit": True, "result": "stolen 1999"}
        append(shop, TAG, "title_search", hit, at=AT.format(2), by=BY)
        price = {"amount": "9100", "currency": "USD", "said_by": "the shop"}
        body = {"id": "n1", "party": "enquirer 1", "event": "price said", "day": "2026-03-02"}
        with pytest.raises(ConflictError, match="police and take legal advice first"):
            append(shop, TAG, "enquiry", body | price, at=AT.format(2), by=BY)
        asked = {**body, "event": "asked", "text": "Is it there?"}
        append(shop, TAG, "enquiry", asked, at=AT.format(2), by=BY)
        trick = {"id": "c1", "corrects": "n1", "reason": "so", "replacement": body | price}
        with pytest.raises(ConflictError, match="police"):
            append(shop, TAG, "correction", trick, at=AT.format(2), by=BY)
        answered = {**asked, "id": "n2", "event": "answered"}
        append(shop, TAG, "enquiry", answered, at=AT.format(2), by=BY)
        gone = {"id": "c2", "corrects": "n1", "reason": "so", "replacement": None}
        with pytest.raises(ConflictError, match="nothing that was asked"):
            append(shop, TAG, "correction", gone, at=AT.format(2), by=BY)


def test_names_are_due_erased_and_gone_from_the_file(bench: TestClient, folder: Path) -> None:
    say(bench, "asked", text="?", name=NAME, contact="Quarrenbeck Lane 4", day="2020-02-03")
    with OpenShop(folder) as shop:
        (kept,) = persons_kept(shop, TAG)
        assert "names" in {one.kind for one in due_in(shop, "2026-03-02")}
        with pytest.raises(NotPermittedError):
            erase_person(shop, kept.person.id, day="2026-03-02", by=Hand(BY, Role.EXAMINER))
    assert "To be erased since 2020-08-01" in flat(bench.get("/persons").text)
    run = CliRunner().invoke(
        app, ["persons", "list", "--shop", str(folder), "--json"], standalone_mode=False
    )
    assert run.return_value == 1
    assert json.loads(run.output)[0]["person"]["name"] == NAME
    bench.post("/persons/erased", data={"person": kept.person.id})
    page = bench.get("/persons").text
    assert NAME not in page
    assert "name and address were erased" in page
    assert NAME not in shown(bench)
    with OpenShop(folder) as shop:
        assert "names" not in {one.kind for one in due_in(shop, "2026-03-02")}
    files = [one for one in folder.iterdir() if one.name.startswith("heelstamp.db")]
    (database,) = [one for one in files if one.suffix == ".db"]
    with sqlite3.connect(database) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert NAME.encode() not in database.read_bytes()


def test_the_shop_sets_how_long_names_are_kept_and_the_rule_follows(
    bench: TestClient, folder: Path
) -> None:
    say(bench, "asked", text="?", name=NAME, day="2020-02-03")
    settings = folder / "shop.toml"
    settings.write_text("# ours\n" + settings.read_text("utf-8"), "utf-8")
    rows = {"purpose": ["enquirer", "buyer"], "days": ["30", ""], "why": ["we answer fast.", ""]}
    assert bench.post("/persons/retention", data=rows).status_code == 200
    page = flat(bench.get("/persons").text)
    assert "To be erased since 2020-03-04" in page
    assert "Kept we answer fast: 30 days after 2020-02-03" in page
    text = settings.read_text("utf-8")
    assert text.startswith("# ours\n")
    assert "buyer" not in text
    before = settings.read_bytes()
    for days, why in (("-1", "so"), ("1.5", "so"), ("90", ""), ("", "so"), ("99999", "so")):
        told = {"purpose": "enquirer", "days": days, "why": why}
        assert bench.post("/persons/retention", data=told).status_code == 422
    assert bench.post("/persons/retention", data={**rows, "purpose": "x"}).status_code == 422
    assert settings.read_bytes() == before
    with OpenShop(folder) as shop, pytest.raises(NotPermittedError):
        keep_retention(shop, {"buyer": ("9", "so")}, by=Hand(BY, Role.EXAMINER))
    here = ["persons", "retention", "--shop", str(folder)]
    run = CliRunner().invoke(app, [*here, "--purpose", "enquirer", "--json"], standalone_mode=False)
    assert json.loads(run.output)["enquirer"]["days"] == 180
    settings.write_text(text + '\n[retention.heir]\ndays = 3\nwhy = "so"\n', "utf-8")
    with pytest.raises(InputError, match=r"shop\.toml, line \d+"):
        OpenShop(folder)


def test_the_command_enters_and_tells_the_same(folder: Path) -> None:
    def run(*words: str) -> tuple[str, int]:
        told = ["enquiry", *words, "--shop", str(folder)]
        found = CliRunner().invoke(app, told, standalone_mode=False)
        if found.exception is not None:
            raise found.exception
        return found.output, found.return_value

    assert "enquirer 1" in run("add", TAG, "asked", "--text", "Is the case first?")[0]
    assert run("answer", TAG, "--party", "enquirer 1", "--tell")[1] == 3
    told, _ = run("show", TAG)
    assert "This was not examined" in told
    run(
        "add",
        TAG,
        "price said",
        "--party",
        "enquirer 1",
        "--amount",
        "8,000",
        "--said-by",
        "the enquirer",
    )
    assert "said 8,000 USD" in run("show", TAG)[0]
