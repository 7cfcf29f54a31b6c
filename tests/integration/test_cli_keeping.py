"""``backup``, ``restore``, ``export``, ``import``; what ``verify`` and ``doctor`` say of them."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from fakes.commands import Run
from fakes.kills import TAG, stocked_shop
from heelstamp.archive import read_json
from heelstamp.shop import open_shop


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    stocked_shop(tmp_path / "shop")
    return tmp_path / "shop"


def test_out_and_back(run: Run, shop: Path, tmp_path: Path) -> None:
    made = run("backup", tmp_path / "backups", "--shop", shop)
    assert made.code == 0
    assert "1 dossier, 3 files, 7 copied now" in made.out
    assert run("backup", tmp_path / "backups", "--check").out.endswith(": whole\n")
    back = run("restore", tmp_path / "backups", "--shop", tmp_path / "again")
    assert back.code == 0
    over = run("restore", tmp_path / "backups", "--shop", shop)
    assert (over.code, "is a shop already" in over.err) == (2, True)
    out = run("export", TAG, tmp_path / "out", "--shop", tmp_path / "again")
    assert out.code == 0
    run("new", "--shop", tmp_path / "other")
    taken = run("import", tmp_path / "out", "--shop", tmp_path / "other", "--json")
    assert json.loads(taken.out)["entries"] == {TAG: 5}
    neither = run("export", tmp_path / "more", "--shop", shop)
    assert (neither.code, "names dossiers, or --all" in neither.err) == (2, True)


def test_an_encrypted_backup(run: Run, shop: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("five words drawn by lot\n")
    secret.chmod(0o600)
    to = ("--passphrase-file", secret)
    assert run("backup", tmp_path / "b", "--encrypt", *to, "--shop", shop).code == 0
    back = run("restore", tmp_path / "b", *to, "--shop", tmp_path / "again")
    assert back.code == 0
    unneeded = run("backup", tmp_path / "plain", *to, "--shop", shop)
    assert (unneeded.code, "not encrypted" in unneeded.err) == (2, True)


def test_doctor_names_the_sale_and_the_backup(run: Run, shop: Path, tmp_path: Path) -> None:
    assert "none known; say heelstamp backup TO" in run("doctor", "--shop", shop).out
    run("backup", tmp_path / "backups", "--shop", shop)
    with sqlite3.connect(shop / "heelstamp.db") as raw:
        raw.execute("UPDATE comparable SET text = '{}' WHERE row = 's3'")
    raw.close()
    later = run("backup", tmp_path / "backups", "--shop", shop)
    assert (later.code, "s3" in later.out) == (1, True)
    told = run("doctor", "--shop", shop, "--json")
    assert told.code == 1
    rows = [one for one in json.loads(told.out) if one["check"] == "record"]
    assert len(rows) == 1
    assert rows[0]["detail"].startswith("sale s3 of sallowby-wherry: changed")
    assert "whole in " in rows[0]["detail"]


def test_verify_of_what_was_taken_out_of_a_paper(run: Run, shop: Path, tmp_path: Path) -> None:
    with open_shop(shop) as opened:
        entries = [read_json(line) for line in opened.journals.lines(TAG)]
    array = tmp_path / "journal.json"
    array.write_text(json.dumps(entries))
    whole = run("verify", array, "--last", entries[-1]["digest"])
    assert whole.code == 0
    assert "journal.json: passed" in " ".join(whole.out.split())
    unknown = run("verify", array)
    assert "entries are missing at the end cannot be told" in " ".join(unknown.out.split())
    names = ("seq", "kind", "previous", "digest")
    array.write_text(json.dumps([{name: one[name] for name in names} for one in entries]))
    chain = run("verify", array, "--last", entries[-1]["digest"])
    assert chain.code == 3
    assert "journal.json: cannot tell" in " ".join(chain.out.split())
    entries[1]["by"] = "someone"
    (tmp_path / "entries.json").write_text(json.dumps(entries))
    assert run("verify", tmp_path / "entries.json").code == 1


def test_a_new_that_was_cut_off_may_be_said_again(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    (folder / ".heelstamp-unfinished" / "content").mkdir(parents=True)
    shown = run("show", TAG, "--shop", folder)
    assert "was cut off; say it again" in shown.err
    assert run("new", "--shop", folder).code == 0
    assert not (folder / ".heelstamp-unfinished").exists()
