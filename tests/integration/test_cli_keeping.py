"""``backup``, ``restore``, ``export``, ``import``; what ``verify`` and ``doctor`` say of them."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from fakes.kills import TAG, stocked_shop
from heelstamp.archive import read_json
from heelstamp.shop import open_shop


def run(*words: object, standard_input: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "heelstamp", *map(str, words)]
    return subprocess.run(
        command, check=False, capture_output=True, text=True, input=standard_input, timeout=300
    )


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    stocked_shop(tmp_path / "shop")
    return tmp_path / "shop"


def test_out_and_back(shop: Path, tmp_path: Path) -> None:
    made = run("backup", tmp_path / "backups", "--shop", shop)
    assert made.returncode == 0
    assert "1 dossier, 3 files, 7 copied now" in made.stdout
    assert run("backup", tmp_path / "backups", "--check").stdout.endswith(": whole\n")
    back = run("restore", tmp_path / "backups", "--shop", tmp_path / "again")
    assert back.returncode == 0
    over = run("restore", tmp_path / "backups", "--shop", shop)
    assert (over.returncode, "is a shop already" in over.stderr) == (2, True)
    out = run("export", TAG, tmp_path / "out", "--shop", tmp_path / "again")
    assert out.returncode == 0
    run("new", "--shop", tmp_path / "other")
    taken = run("import", tmp_path / "out", "--shop", tmp_path / "other", "--json")
    assert json.loads(taken.stdout)["entries"] == {TAG: 5}
    neither = run("export", tmp_path / "more", "--shop", shop)
    assert (neither.returncode, "names dossiers, or --all" in neither.stderr) == (2, True)


def test_an_encrypted_backup(shop: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("five words drawn by lot\n")
    secret.chmod(0o600)
    to = ("--passphrase-file", secret)
    assert run("backup", tmp_path / "b", "--encrypt", *to, "--shop", shop).returncode == 0
    back = run("restore", tmp_path / "b", *to, "--shop", tmp_path / "again")
    assert back.returncode == 0
    unneeded = run("backup", tmp_path / "plain", *to, "--shop", shop)
    assert (unneeded.returncode, "not encrypted" in unneeded.stderr) == (2, True)


def test_doctor_names_the_sale_and_the_backup(shop: Path, tmp_path: Path) -> None:
    assert "none known; say heelstamp backup TO" in run("doctor", "--shop", shop).stdout
    run("backup", tmp_path / "backups", "--shop", shop)
    with sqlite3.connect(shop / "heelstamp.db") as raw:
        raw.execute("UPDATE comparable SET text = '{}' WHERE row = 's3'")
    raw.close()
    later = run("backup", tmp_path / "backups", "--shop", shop)
    assert (later.returncode, "s3" in later.stdout) == (1, True)
    told = run("doctor", "--shop", shop, "--json")
    assert told.returncode == 1
    rows = [one for one in json.loads(told.stdout) if one["check"] == "record"]
    assert len(rows) == 1
    assert rows[0]["detail"].startswith("sale s3 of sallowby-wherry: changed")
    assert "whole in " in rows[0]["detail"]


def test_verify_of_what_was_taken_out_of_a_paper(shop: Path, tmp_path: Path) -> None:
    with open_shop(shop) as opened:
        entries = [read_json(line) for line in opened.journals.lines(TAG)]
    array = tmp_path / "journal.json"
    array.write_text(json.dumps(entries))
    whole = run("verify", array, "--last", entries[-1]["digest"])
    assert whole.returncode == 0
    assert "journal.json: passed" in " ".join(whole.stdout.split())
    unknown = run("verify", array)
    assert "entries are missing at the end cannot be told" in " ".join(unknown.stdout.split())
    names = ("seq", "kind", "previous", "digest")
    array.write_text(json.dumps([{name: one[name] for name in names} for one in entries]))
    chain = run("verify", array, "--last", entries[-1]["digest"])
    assert chain.returncode == 3
    assert "journal.json: cannot tell" in " ".join(chain.stdout.split())
    entries[1]["by"] = "someone"
    (tmp_path / "entries.json").write_text(json.dumps(entries))
    assert run("verify", tmp_path / "entries.json").returncode == 1


def test_a_new_that_was_cut_off_may_be_said_again(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    (folder / ".heelstamp-unfinished" / "content").mkdir(parents=True)
    shown = run("show", TAG, "--shop", folder)
    assert "was cut off; say it again" in shown.stderr
    assert run("new", "--shop", folder).returncode == 0
    assert not (folder / ".heelstamp-unfinished").exists()
