"""A shop made in the browser: three questions, the demonstration taken over, a first dossier."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import INSTRUMENT, TAG, bench_of, jpeg, make_shop
from heelstamp.casework.dossier import attach_photograph, entries_of, open_with
from heelstamp.errors import ConflictError, StorageError
from heelstamp.shop import create_shop, demonstration, is_shop, now, open_shop, read_settings
from heelstamp.shop.demonstration import (
    DEMO_TAG,
    begin_demonstration,
    bring_in_demo,
    demonstration_job,
)
from heelstamp.shop.jobs import Progress
from heelstamp.shop.opened import OpenShop
from heelstamp.web.first_run import Threshold

BASE = "http://localhost:8756"
GOOD = {"name": "Test shop", "first": "luthier", "second": "", "currency": "eur"}


def at_threshold(folder: Path) -> TestClient:
    return TestClient(Threshold(folder), base_url=BASE)


# --- Three questions ----------------------------------------------------------------------------


@pytest.mark.parametrize("there", [False, True])
def test_three_answers_make_the_shop_and_open_its_bench(tmp_path: Path, there: bool) -> None:
    folder = tmp_path / "new"
    if there:
        folder.mkdir()
    with at_threshold(folder) as browser:
        first = browser.get("/")
        assert "Three questions" in first.text
        assert browser.get("/dossier/x/intake", follow_redirects=False).headers["location"] == "/"
        assert not is_shop(folder)
        made = browser.post("/", data=GOOD)
        assert made.status_code == 200
        assert made.url.path == "/begin"
        assert "Open the first dossier" in made.text
        rack = browser.get("/")
        assert "Test shop" in rack.text
        assert 'value="luthier"' in rack.text
        assert (
            browser.post(
                "/new", data={"chronology": "sallowby-wherry", "tag": "H-0001"}
            ).status_code
            == 200
        )
    settings = read_settings(folder)
    assert (settings.name, settings.currency) == ("Test shop", "EUR")
    assert settings.examiners == ["luthier"]
    with open_shop(folder) as shop:
        assert entries_of(shop, "H-0001")[0].by == "luthier"


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": " "},
        {"name": "a\x00b"},
        {"name": "x" * 300},
        {"currency": "euro"},
        {"currency": "€€€"},
        {"first": " "},
        {"first": "a\nb"},
    ],
)
def test_an_answer_that_cannot_be_used_is_asked_again_and_nothing_is_made(
    tmp_path: Path, wrong: dict[str, str]
) -> None:
    folder = tmp_path / "new"
    with at_threshold(folder) as browser:
        answer = browser.post("/", data={**GOOD, **wrong})
        assert answer.status_code == 422
        assert not folder.exists()
        assert browser.post("/", data=GOOD).status_code == 200


def test_a_foreign_page_and_another_name_make_no_shop(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    with at_threshold(folder) as browser:
        for headers in (
            {"origin": "https://evil.test"},
            {"sec-fetch-site": "cross-site"},
            {"host": "evil.test"},
        ):
            assert browser.post("/", data=GOOD, headers=headers).status_code == 403
        assert not folder.exists()
        assert "default-src 'none'" in browser.get("/").headers["content-security-policy"]


def test_sent_twice_it_is_one_shop(tmp_path: Path) -> None:
    with at_threshold(tmp_path / "new") as browser:
        answers: list[int] = []
        senders = [
            threading.Thread(
                target=lambda: answers.append(browser.post("/", data=GOOD).status_code)
            )
            for _ in range(4)
        ]
        for one in senders:
            one.start()
        for one in senders:
            one.join()
        assert set(answers) <= {200, 404, 405}  # the bench itself takes no such form
        assert 200 in answers
    assert read_settings(tmp_path / "new").name == "Test shop"


# --- The demonstration --------------------------------------------------------------------------


@pytest.fixture
def small_demo(monkeypatch: pytest.MonkeyPatch) -> None:
    """A demonstration of two entries: what is taken over does not depend on what is in it."""

    def make(folder: Path, tag: str, *, name: str, tell: object) -> None:
        with create_shop(folder, name=name, currency="USD") as shop:
            open_with(shop, [("instrument", {**INSTRUMENT, "tag": tag})], at=now(), by="examiner A")
            attach_photograph(shop, tag, jpeg(), {"id": "f1", "name": "a.jpg"}, at=now(), by="x y")

    monkeypatch.setattr(demonstration, "make_demo_dossier", make)


@pytest.fixture
def own_shop(tmp_path: Path) -> Path:
    folder = tmp_path / "own"
    create_shop(folder, name="Own", currency="EUR", examiners=["luthier"]).close()
    return folder


def test_the_demonstration_is_taken_over_whole_and_signed_by_nobody_here(
    own_shop: Path, small_demo: None
) -> None:
    with OpenShop(own_shop) as shop:
        bring_in_demo(shop)
        entries = entries_of(shop, DEMO_TAG)
        assert [one.by for one in entries] == ["examiner A", "x y"]
        records = shop.journals.files()
        assert [shop.files.has(one.digest) for one in records] == [True]
        assert shop.comparables.markets() == ()  # the shop reckons in another currency
        with pytest.raises(ConflictError, match="here already"):
            bring_in_demo(shop)


def test_its_sales_come_along_where_the_currency_is_theirs(
    tmp_path: Path, small_demo: None
) -> None:
    shop = make_shop(tmp_path)
    with OpenShop(shop) as opened:
        bring_in_demo(opened)
        assert opened.comparables.markets() == ("sallowby-wherry",)
    assert (shop / "consignment.toml").is_file()


def test_a_demonstration_that_fails_leaves_nothing_and_says_why(
    own_shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise StorageError("the disk is full", remedy="Free some space.")

    monkeypatch.setattr(demonstration, "make_demo_dossier", full)
    with OpenShop(own_shop) as shop:
        begin_demonstration(shop)
        job = demonstration_job(shop)
        assert job is not None
        job = shop.jobs.wait(job, 20)
        assert (job.standing, str(job.error)) == ("failed", "the disk is full. Free some space.")
        assert shop.journals.tags() == ()
        begin_demonstration(shop)
        again = demonstration_job(shop)
        assert again is not None
        assert again.key != job.key  # it may be tried again


def test_the_page_tells_that_it_works_and_when_it_is_there(
    own_shop: Path, small_demo: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    go = threading.Event()
    bring = demonstration.bring_in_demo

    def slow(shop: OpenShop, *, tell: Progress) -> None:
        go.wait(20)
        bring(shop, tell=tell)

    monkeypatch.setattr(demonstration, "bring_in_demo", slow)
    with bench_of(own_shop) as bench:
        assert "Bring in the demonstration" in bench.get("/begin").text
        assert "Working" in bench.post("/begin/demonstration").text
        assert "Working" in bench.post("/begin/demonstration").text  # once at a time
        go.set()
        shop: OpenShop = bench.app.state.shop  # type: ignore[attr-defined]
        job = demonstration_job(shop)
        assert job is not None
        assert shop.jobs.wait(job, 20).standing == "done"
        page = bench.get("/begin").text
        assert f"hangs on the rack as <strong>{DEMO_TAG}</strong>" in page
        assert "data-await" not in page
        assert f"/dossier/{DEMO_TAG}/" in bench.get("/").text
        assert 'value="H-0001"' in bench.get("/new").text  # the shop's own tags begin at the first


# --- A new dossier ------------------------------------------------------------------------------


def test_a_dossier_is_opened_by_chronology_and_tag_alone(tmp_path: Path) -> None:
    with bench_of(make_shop(tmp_path)) as bench:
        page = bench.get("/new").text
        assert 'value="W-0002"' in page
        assert "Sallowby Instrument Works Lockkeeper (invented)" in page
        said = {"chronology": "sallowby-lockkeeper", "tag": "W-0002", "claimed": "bought in ’71"}
        opened = bench.post("/new", data={**said, "id": "o-1", "made": ""})
        assert opened.url.path == "/new"
        assert "<strong>W-0002</strong> is open" in opened.text
        assert "/dossier/W-0002/intake" in opened.text
        assert 'value="W-0003"' in opened.text
        again = bench.post("/new", data=said)  # an outbox that does not know whether it arrived
        assert again.status_code == 200
        desk = bench.app.state.shop  # type: ignore[attr-defined]
        entries = entries_of(desk, "W-0002")
        assert len(entries) == 1
        assert dict(entries[0].body) == {
            "kind": "bass",
            "maker": "Sallowby Instrument Works",
            "model": "Lockkeeper",
            "chronology": "sallowby-lockkeeper",
            "tag": "W-0002",
            "claimed": "bought in ’71",
        }
        other = bench.post("/new", data={**said, "claimed": "another story"})
        assert other.status_code == 409
        assert bench.get("/dossier/W-0002/intake").status_code == 200


@pytest.mark.parametrize(
    ("wrong", "status"),
    [
        ({"tag": ""}, 422),
        ({"tag": "../x"}, 422),
        ({"tag": "a/b"}, 422),
        ({"tag": "x" * 41}, 422),
        ({"tag": "<b>"}, 422),
        ({"chronology": "sallowby"}, 422),
        ({"chronology": "../x"}, 422),
        ({"kind": "violin"}, 422),
        ({"maker": "a\x00b"}, 422),
        ({"tag": TAG}, 409),
    ],
)
def test_what_opens_no_dossier(tmp_path: Path, wrong: dict[str, str], status: int) -> None:
    with bench_of(make_shop(tmp_path)) as bench:
        said = {"chronology": "sallowby-wherry", "tag": "W-0009", "claimed": "x", **wrong}
        assert bench.post("/new", data=said).status_code == status
        assert bench.app.state.shop.journals.tags() == (TAG,)  # type: ignore[attr-defined]


def test_a_broken_chronology_of_the_shop_is_told_and_hides_no_other(tmp_path: Path) -> None:
    shop = make_shop(tmp_path)
    (shop / "chronologies").mkdir()
    (shop / "chronologies" / "own.toml").write_text("not = [a chronology")
    with bench_of(shop) as bench:
        page = bench.get("/new").text
        assert "cannot be read" in page
        assert "own.toml" in page
        assert "Sallowby Instrument Works Wherry" in page
