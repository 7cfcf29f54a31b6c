"""The page that checks offline, opened from a file, with the network cut."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from fakes.screen_sizes import SIZES
from fakes.web_shop import TAG
from heelstamp.report.attached import attached_files
from heelstamp.report.check_page import check_page
from heelstamp.shop.issuing import issue
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.pack import make_pack
from heelstamp.shop.shop_key import known_keys
from heelstamp.shop.signing import sign_page

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def held(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the page, a paper, its copy with what that names, packs and a journal."""
    place = tmp_path_factory.mktemp("held")
    folder = shutil.copytree(new_shop, place / "shop")
    with OpenShop(folder) as shop:
        seen = {"id": "o1", "part": "neck", "kind": "mark", "status": "read", "text": "65/01 é"}
        shop.enter(TAG, [("observation", seen)], by="examiner A")
        paper = shop.files.get(issue(shop, TAG, "buyer", id_="a", by="examiner A"))
        shown = sign_page(shop, b"<!doctype html>\n<title>\xc3\xa9</title>\n")
        make_pack(shop, TAG, "buyer", place / "pack.zip")
        make_pack(shop, TAG, "shop", place / "pack")
    (place / "check.html").write_bytes(check_page())
    (place / "paper.pdf").write_bytes(paper)
    (place / "showing.html").write_bytes(shown)
    (place / "out").mkdir()
    for name, data in attached_files(paper, "a").items():
        (place / "out" / name).write_bytes(data)
    (place / "journal.jsonl").write_bytes(
        (place / "pack/data" / TAG / "journal.jsonl").read_bytes()
    )
    return place


@pytest.fixture
def page(chromium: Browser, held: Path) -> Iterator[Page]:
    context = chromium.new_context(offline=True)
    opened = context.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(str(error)))
    opened.goto((held / "check.html").as_uri())
    yield opened
    context.close()
    assert errors == []


def verdicts(page: Page, *files: Path, key: str = "") -> list[str]:
    """Choose files, or one folder, and read what the page says of each."""
    page.locator("#results").evaluate("place => place.replaceChildren()")
    page.fill("#key", key)
    field = "#folder" if files[0].is_dir() else "#files"
    if field == "#files":
        page.set_input_files(field, [])  # the same name again is a change
    page.set_input_files(field, files[0] if files[0].is_dir() else list(files))
    expect(page.locator("#results article").first).to_be_visible()
    return page.locator("#results article").evaluate_all(
        "all => all.map(one => one.dataset.verdict)"
    )


def flipped(path: Path, place: int, into: Path) -> Path:
    data = bytearray(path.read_bytes())
    data[place] ^= 1
    into.write_bytes(data)
    return into


def test_a_paper(page: Page, held: Path, tmp_path: Path) -> None:
    (key,) = known_keys(held / "shop")
    paper = held / "paper.pdf"
    assert verdicts(page, paper) == ["cannot tell"]
    expect(page.locator("article")).to_contain_text(f"with the key {key}")
    assert verdicts(page, paper, key=key) == ["passed"]
    assert verdicts(page, paper, key="0" * 64) == ["failed"]
    for place in (20, 9000, paper.stat().st_size - 40):
        assert verdicts(page, flipped(paper, place, tmp_path / "a.pdf"), key=key) == ["failed"]
    (tmp_path / "b.pdf").write_bytes(paper.read_bytes() + b"\n")
    assert verdicts(page, tmp_path / "b.pdf", key=key) == ["failed"]


def test_a_showing_page(page: Page, held: Path, tmp_path: Path) -> None:
    (key,) = known_keys(held / "shop")
    shown = held / "showing.html"
    assert verdicts(page, shown) == ["cannot tell"]
    expect(page.locator("article")).to_contain_text(f"with the key {key}")
    assert verdicts(page, shown, key=key) == ["passed"]
    assert verdicts(page, shown, key="0" * 64) == ["failed"]
    whole = shown.read_bytes()
    begin = whole.index(b"<!-- heelstamp signature ")
    for place in (17, 24, len(whole) - 30):  # the page, the signature
        changed = flipped(shown, place, tmp_path / "a.html")
        assert verdicts(page, changed, key=key) == ["failed"], place
    for added in (b"\n", b"<p>more</p>\n", b"x" * 50_000):
        (tmp_path / "b.html").write_bytes(whole + added)
        assert verdicts(page, tmp_path / "b.html", key=key) == ["failed"]
    (tmp_path / "c.html").write_bytes(whole[:begin])
    assert verdicts(page, tmp_path / "c.html", key=key) == ["cannot tell"]


def test_a_pack_in_a_file_and_in_a_folder(page: Page, held: Path, tmp_path: Path) -> None:
    (key,) = known_keys(held / "shop")
    assert verdicts(page, held / "pack.zip", key=key) == ["passed", "passed", "passed"]
    assert verdicts(page, held / "pack", key=key) == ["passed", "passed", "passed"]
    assert verdicts(page, held / "pack.zip")[0] == "cannot tell"
    place = (held / "pack.zip").read_bytes().index(b"How to read this pack")
    changed = flipped(held / "pack.zip", place, tmp_path / "a.zip")
    assert verdicts(page, changed, key=key)[0] == "failed"
    folder = shutil.copytree(held / "pack", tmp_path / "pack")
    (folder / "data" / "more.txt").write_text("added")
    assert verdicts(page, folder, key=key)[0] == "failed"


def test_a_journal_and_a_copy(page: Page, held: Path, tmp_path: Path) -> None:
    assert verdicts(page, held / "journal.jsonl") == ["passed"]
    whole = (held / "journal.jsonl").read_bytes()
    (tmp_path / "journal.json").write_bytes(b"[" + b",".join(whole.split(b"\n")[:-1]) + b"]")
    assert verdicts(page, tmp_path / "journal.json") == ["passed"]
    (tmp_path / "journal.jsonl").write_bytes(whole.replace(b"65/01", b"65/02"))
    assert verdicts(page, tmp_path / "journal.jsonl") == ["failed"]
    assert verdicts(page, *(held / "out").iterdir()) == ["passed"]
    alone = verdicts(page, held / "out" / "copy.json")
    assert alone == ["cannot tell"]


def test_it_is_read_on_every_screen_and_by_everyone(page: Page, held: Path) -> None:
    verdicts(page, held / "paper.pdf")
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
