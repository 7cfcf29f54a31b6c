"""``heelstamp verify FILE``: what can be told of a paper without its shop, and with it."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fakes.commands import Run
from fakes.web_shop import TAG
from heelstamp.report.attached import attached_files
from heelstamp.shop.issuing import issue
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.shop_key import known_keys, renew

PASSED, FAILED, UNSURE = (0, "passed"), (1, "failed"), (3, "cannot tell")


@pytest.fixture(scope="module")
def handed_out(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a shop and what it handed out: two versions for a buyer, one for itself."""
    place = tmp_path_factory.mktemp("handed-out")
    folder = shutil.copytree(new_shop, place / "shop")
    with OpenShop(folder) as shop:
        for n, (name, reader) in enumerate(
            (("first", "buyer"), ("second", "buyer"), ("own", "shop"))
        ):
            if n:
                seen = {"id": f"o{n}", "part": "neck", "kind": "mark", "status": "read",
                        "text": f"65/0{n} R"}  # fmt: skip
                shop.enter(TAG, [("observation", seen)], by="examiner A")
            digest = issue(shop, TAG, reader, id_=name, by="examiner A")  # type: ignore[arg-type]
            (place / f"{name}.pdf").write_bytes(shop.files.get(digest))
    return place


def verdict(run: Run, path: Path, *more: str) -> tuple[tuple[int, str], str]:
    done = run("verify", str(path), "--json", *more)
    (told,) = json.loads(done.out).values()
    return (done.code, told["verdict"]), " ".join([*told["findings"], *told["limits"]])


@pytest.mark.parametrize("name", ["first", "own"])
def test_a_paper_alone_tells_that_it_is_unchanged_and_not_by_whom(
    run: Run, handed_out: Path, name: str
) -> None:
    paper, (key,) = handed_out / f"{name}.pdf", known_keys(handed_out / "shop")
    came_to, told = verdict(run, paper)
    assert came_to == UNSURE
    assert f"with the key {key}" in told
    assert "Whose key that is cannot be told" in told
    came_to, told = verdict(run, paper, "--key", key)
    assert came_to == PASSED
    assert "Whether a later version supersedes it cannot be told" in told
    spelled = ":".join(key[i : i + 2] for i in range(0, 64, 2)).upper()
    assert verdict(run, paper, "--key", spelled)[0] == PASSED
    assert verdict(run, paper, "--key", "0" * 64)[0] == FAILED
    refused = run("verify", str(paper), "--key", "12")
    assert (refused.code, "64 digits" in refused.err) == (2, True)


def test_with_the_shop_it_is_known_what_supersedes_it(run: Run, handed_out: Path) -> None:
    at_home = ("--shop", str(handed_out / "shop"))
    came_to, told = verdict(run, handed_out / "first.pdf", *at_home)
    assert came_to == PASSED
    assert "that is this shop's key" in told
    assert "version 1 as it was issued; version 2 of" in told
    came_to, told = verdict(run, handed_out / "second.pdf", *at_home)
    assert "This is version 2, the newest." in told


def test_a_changed_byte_and_an_added_one_fail(run: Run, handed_out: Path, tmp_path: Path) -> None:
    whole = (handed_out / "first.pdf").read_bytes()
    for changed in (whole[:9000] + bytes([whole[9000] ^ 4]) + whole[9001:], whole + b"\n"):
        (tmp_path / "a.pdf").write_bytes(changed)
        for more in ((), ("--shop", str(handed_out / "shop"))):
            assert verdict(run, tmp_path / "a.pdf", *more)[0] == FAILED


def test_one_signed_anew_by_another_key_fails_against_the_shops(
    run: Run, handed_out: Path, tmp_path: Path
) -> None:
    """Who changes a paper can sign it again: with a key of their own."""
    (key,) = known_keys(handed_out / "shop")
    forger = shutil.copytree(handed_out / "shop", tmp_path / "forger")
    with OpenShop(forger) as shop:
        renew(forger, shop.name)
        digest = issue(shop, TAG, "insurer", id_="x", by="examiner A")
        (tmp_path / "forged.pdf").write_bytes(shop.files.get(digest))
    assert verdict(run, tmp_path / "forged.pdf")[0] == UNSURE
    assert verdict(run, tmp_path / "forged.pdf", "--key", key)[0] == FAILED
    assert verdict(run, tmp_path / "forged.pdf", "--shop", str(handed_out / "shop"))[0] == FAILED


def test_what_was_taken_out_of_a_paper(run: Run, handed_out: Path, tmp_path: Path) -> None:
    for name, data in attached_files((handed_out / "first.pdf").read_bytes(), "a").items():
        (tmp_path / name).write_bytes(data)
    head = json.loads((tmp_path / "copy.json").read_bytes())["digest"]
    assert verdict(run, tmp_path / "copy.json", "--last", head)[0] == PASSED
    assert verdict(run, tmp_path / "copy.json")[0] == UNSURE
    (tmp_path / "finding.json").write_bytes(b"{}")
    assert verdict(run, tmp_path / "copy.json", "--last", head)[0] == FAILED
    journal = attached_files((handed_out / "own.pdf").read_bytes(), "a")["journal.json"]
    (tmp_path / "journal.json").write_bytes(journal)
    came_to, told = verdict(run, tmp_path / "journal.json")
    assert came_to == PASSED
    assert "Whether entries are missing at the end cannot be told" in told
    (tmp_path / "lines.jsonl").write_bytes(journal.replace(b"65/01 R", b"65/07 R"))
    assert verdict(run, tmp_path / "lines.jsonl")[0] == FAILED


def test_an_unsigned_paper_cannot_be_told(run: Run, handed_out: Path, tmp_path: Path) -> None:
    out = tmp_path / "preview.pdf"
    shop = ("--shop", str(handed_out / "shop"))
    assert run("paper", "permission", TAG, "--preview", "-o", str(out), *shop).code == 0
    came_to, told = verdict(run, out)
    assert came_to == UNSURE
    assert "carries no signature" in told
    came_to, told = verdict(run, out, *shop)
    assert came_to == UNSURE
    assert "no paper that this shop issued has these bytes" in told


def test_the_key_is_told_and_renewed_by_command(run: Run, handed_out: Path, tmp_path: Path) -> None:
    shop = shutil.copytree(handed_out / "shop", tmp_path / "shop")
    (key,) = known_keys(shop)
    assert key in run("key", "show", "--shop", str(shop)).out
    told = json.loads(run("key", "renew", "--shop", str(shop), "--json").out)
    after = json.loads(run("key", "show", "--shop", str(shop), "--json").out)
    assert [one["fingerprint"] for one in after["keys"]] == [told["fingerprint"], key]
    (shop / "key" / "shop.key").chmod(0o644)
    assert run("key", "show", "--shop", str(shop)).code == 1
    looked = run("doctor", "--shop", str(shop))
    assert (looked.code, "others may read" in " ".join(looked.out.split())) == (1, True)
    assert verdict(run, handed_out / "first.pdf", "--shop", str(shop))[1].count("an earlier key")


def test_the_page_is_written_by_command(run: Run, tmp_path: Path) -> None:
    from heelstamp.report.check_page import check_page

    assert run("verify", "--page", str(tmp_path / "check.html")).code == 0
    page = (tmp_path / "check.html").read_bytes()
    assert page == check_page()
    assert b"http" not in page.replace(b'http-equiv="Content-Security-Policy"', b"")


def test_a_process_of_its_own_reads_the_signature(handed_out: Path) -> None:
    """Nothing that signing loaded before helps it."""
    command = [sys.executable, "-m", "heelstamp", "verify", "first.pdf", "--json"]
    done = subprocess.run(command, cwd=handed_out, capture_output=True, text=True, check=False)
    (told,) = json.loads(done.stdout).values()
    assert (done.returncode, told["verdict"]) == UNSURE
    assert "signed as a whole, and unchanged since" in told["findings"][0]
