"""A shop copies itself while it works and is brought back; what is not whole is told."""

from __future__ import annotations

import errno
import shutil
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path
from threading import Event, Thread
from typing import Any, BinaryIO

import pytest

from fakes.kills import TAG, decision, plain, stocked_shop
from fakes.machines import small_disk, without_permission
from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.casework.dossier import append, open_dossier, state_of
from heelstamp.errors import ConflictError, InputError, IntegrityError, StorageError
from heelstamp.shop import create_shop, open_shop
from heelstamp.shop.backup import (
    LAST_BACKUP_FILE,
    backup_folder,
    backup_is_due,
    days_since_backup,
    make_backup,
    restore_backup,
)
from heelstamp.shop.backup_folder import BackupFolder, Plain
from heelstamp.shop.disk import Disk
from heelstamp.shop.sealing import read_passphrase
from heelstamp.shop.soundness import shop_faults
from heelstamp.shop.verification import WHOLE_DOCUMENTS, WHOLE_FILES, verify_shop

PASSPHRASE = "five words drawn by lot"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    stocked_shop(tmp_path / "shop")
    return tmp_path / "shop"


def content(folder: Path) -> dict[str, bytes]:
    """Every file below, by path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


SOUND = {TAG: "sound", WHOLE_FILES: "sound", WHOLE_DOCUMENTS: "sound"}


def verdicts(folder: Path) -> dict[str, str]:
    """What verification of a whole shop came to, by what was looked at."""
    return {one.name: one.verdict.value for one in verify_shop(folder, None, None)}


def record(folder: Path) -> object:
    with open_shop(folder) as opened:
        rows = opened.comparables.rows("sallowby-wherry")
        return opened.name, opened.journals.lines(TAG), rows, opened.journals.files()


@pytest.mark.parametrize("sealed", [False, True])
def test_a_shop_comes_back_as_it_was(shop: Path, tmp_path: Path, sealed: bool) -> None:
    folder = backup_folder(tmp_path / "backups", lambda: PASSPHRASE, sealed=sealed)
    made = make_backup(shop, folder)
    assert made.manifest.whole
    assert (
        made.copied == 3 + 2 + 2
    )  # files, documents, both halves of the shop's key  # files; shop.toml and the terms
    again = backup_folder(tmp_path / "backups", lambda: PASSPHRASE)
    assert again.faults(made.name) == ()
    assert restore_backup(again, tmp_path / "again").lacking == ()
    assert record(tmp_path / "again") == record(shop)
    assert shop_faults(tmp_path / "again") == ()
    assert (tmp_path / "again" / "terms" / "H-0001.toml").read_text() == "commission = 0.2\n"
    if sealed:
        whole = b"".join(content(tmp_path / "backups").values())
        assert b"commission" not in whole
        assert INSTRUMENT["maker"].encode() not in whole
        names = " ".join(content(tmp_path / "backups"))
        assert not any(one.digest[2:] in names for one in record(shop)[3])  # type: ignore[index]


def test_the_keys_of_a_certificate_come_back_for_their_owner_alone(
    shop: Path, tmp_path: Path
) -> None:
    key = shop / "certificate" / "bench.key"
    key.parent.mkdir()
    key.write_text("a secret")
    make_backup(shop, plain(tmp_path / "backups"))
    restore_backup(plain(tmp_path / "backups"), tmp_path / "again")
    again = tmp_path / "again" / "certificate" / "bench.key"
    assert again.read_text() == "a secret"
    assert again.stat().st_mode & 0o077 == 0


def test_a_later_backup_copies_what_is_new_and_leaves_the_earlier_one(
    shop: Path, tmp_path: Path
) -> None:
    make_backup(shop, plain(tmp_path / "backups"), at="2026-11-01T08:00:00Z")
    before = content(tmp_path / "backups")
    with open_shop(shop) as opened:
        append(opened, TAG, "decision", decision(20), at=AT, by=BY)
    made = make_backup(shop, plain(tmp_path / "backups"), at="2026-11-02T08:00:00Z")
    assert made.copied == 0
    after = content(tmp_path / "backups")
    assert {name: after[name] for name in before} == before
    assert plain(tmp_path / "backups").names() == ("20261101T080000Z", "20261102T080000Z")
    restore_backup(plain(tmp_path / "backups"), tmp_path / "first", date="20261101")
    with open_shop(tmp_path / "first") as opened:
        assert opened.journals.head(TAG).seq == 5  # type: ignore[union-attr]


def test_copies_made_while_others_write_are_whole(shop: Path, tmp_path: Path) -> None:
    stop, written = Event(), []

    def write() -> None:
        with open_shop(shop) as opened:
            number = 100
            while not stop.is_set():
                append(opened, TAG, "decision", decision(number), at=AT, by=BY)
                written.append(number)
                number += 1

    thread = Thread(target=write)
    thread.start()
    try:
        for _ in range(3):
            known = len(written)
            made = make_backup(shop, plain(tmp_path / "backups"))
            assert made.manifest.whole
            assert made.manifest.dossiers[TAG].length >= 5 + known
    finally:
        stop.set()
        thread.join()
    for name in plain(tmp_path / "backups").names():
        restore_backup(plain(tmp_path / "backups"), tmp_path / name, date=name)
        assert verdicts(tmp_path / name) == SOUND


def kept_files(folder: Path) -> list[Path]:
    return sorted(path for path in (folder / "files").rglob("*") if path.is_file())


def test_what_is_not_whole_in_the_shop_is_told_and_the_rest_copied(
    shop: Path, tmp_path: Path
) -> None:
    whole = make_backup(shop, plain(tmp_path / "backups"), at="2026-11-01T08:00:00Z")
    kept_files(shop)[0].write_bytes(b"rotten")
    (lost := kept_files(shop)[1]).unlink()
    again = make_backup(shop, plain(tmp_path / "backups"), at="2026-11-02T08:00:00Z")
    assert again.manifest.whole, "an earlier backup holds both files"
    elsewhere = make_backup(shop, plain(tmp_path / "others"))
    assert len(elsewhere.manifest.lacking) == 2
    assert not elsewhere.noted
    assert (lost.parent.name + lost.name) in elsewhere.manifest.lacking
    with pytest.raises(InputError, match="no whole backup here"):
        restore_backup(plain(tmp_path / "others"), tmp_path / "none")
    named = restore_backup(plain(tmp_path / "others"), tmp_path / "rest", date=elsewhere.name)
    assert len(named.lacking) == 2
    assert record(tmp_path / "rest") == record(shop)
    faults = shop_faults(shop, [plain(tmp_path / "backups"), plain(tmp_path / "others")])
    assert sorted(one.code for one in faults) == ["changed", "missing"]
    places = {place for one in faults for place in one.whole_in}
    assert f"{tmp_path / 'backups'}, {whole.name}" in places
    assert not any(place.startswith(str(tmp_path / "others")) for place in places)


def test_a_row_that_rotted_is_named_with_the_backup_that_holds_it(
    shop: Path, tmp_path: Path
) -> None:
    made = make_backup(shop, plain(tmp_path / "backups"), at="2026-11-01T08:00:00Z")
    with sqlite3.connect(shop / "heelstamp.db") as raw:
        raw.execute("UPDATE comparable SET text = '{}' WHERE row = 's3'")
        raw.execute("UPDATE entry SET hand = 'x' WHERE seq = 3")
    raw.close()
    later = make_backup(shop, plain(tmp_path / "backups"), at="2026-11-02T08:00:00Z")
    assert not later.manifest.whole
    assert any("s3" in one for one in later.manifest.faults)
    faults = {one.where: one for one in shop_faults(shop, [plain(tmp_path / "backups")])}
    assert set(faults) == {"sale s3 of sallowby-wherry", "H-0001, entry 3"}
    for one in faults.values():
        assert one.whole_in == (f"{tmp_path / 'backups'}, {made.name}",)
    assert restore_backup(plain(tmp_path / "backups"), tmp_path / "again").name == made.name


def test_a_damaged_backup_is_refused_and_the_rest_of_it_can_be_had(
    shop: Path, tmp_path: Path
) -> None:
    made = make_backup(shop, plain(tmp_path / "backups"))
    path = next(one for one in kept_files(tmp_path / "backups") if one.stat().st_size > 5000)
    path.write_bytes(b"x" + path.read_bytes()[1:])
    folder = plain(tmp_path / "backups")
    assert len(folder.faults(made.name)) == 1
    with pytest.raises(IntegrityError, match="no longer holds a file whole"):
        restore_backup(folder, tmp_path / "again")
    assert not (tmp_path / "again").exists()
    restored = restore_backup(folder, tmp_path / "again", incomplete=True)
    assert len(restored.lacking) == 1
    assert record(tmp_path / "again") == record(shop)
    database = tmp_path / "backups" / made.name / "heelstamp.db"
    database.write_bytes(database.read_bytes()[:-1] + b"x")
    with pytest.raises(IntegrityError, match=r"heelstamp\.db"):
        restore_backup(folder, tmp_path / "none", incomplete=True)
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("path", ["../outside.toml", "/etc/outside.toml", "a\\..\\b.toml"])
def test_a_manifest_that_names_a_file_outside_is_refused(
    path: str, shop: Path, tmp_path: Path
) -> None:
    made = make_backup(shop, plain(tmp_path / "backups"))
    manifest = tmp_path / "backups" / made.name / "manifest.json"
    spoilt = manifest.read_text().replace("terms/H-0001.toml", path.replace("\\", "\\\\"))
    manifest.write_text(spoilt)
    with pytest.raises(IntegrityError, match="outside of the shop"):
        restore_backup(plain(tmp_path / "backups"), tmp_path / "again", date=made.name)


def test_places_that_are_refused(shop: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="lost with the shop"):
        make_backup(shop, plain(shop / "backups"))
    (tmp_path / "file").write_text("a")
    with pytest.raises(InputError, match="into a folder"):
        plain(tmp_path / "file")
    make_backup(shop, plain(tmp_path / "backups"))
    with pytest.raises(ConflictError, match="a shop already"):
        restore_backup(plain(tmp_path / "backups"), shop)
    with pytest.raises(ConflictError, match="a folder of its own"):
        restore_backup(plain(tmp_path / "backups"), tmp_path)
    with pytest.raises(InputError, match="no backup of this date"):
        restore_backup(plain(tmp_path / "backups"), tmp_path / "again", date="1999")
    with pytest.raises(ConflictError, match="not encrypted"):
        backup_folder(tmp_path / "backups", lambda: PASSPHRASE, sealed=True)


def test_passphrases(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match="at least 12 characters"):
        backup_folder(tmp_path / "a", lambda: "short", sealed=True)
    assert not (tmp_path / "a").exists()
    backup_folder(tmp_path / "a", lambda: PASSPHRASE, sealed=True)
    with pytest.raises(ConflictError, match="does not open with this passphrase"):
        backup_folder(tmp_path / "a", lambda: "another passphrase")
    path = tmp_path / "secret"
    path.write_text(f"{PASSPHRASE}\n")
    path.chmod(0o644)
    with pytest.raises(InputError, match="others may read"):
        read_passphrase(path)
    path.chmod(0o600)
    assert read_passphrase(path) == PASSPHRASE
    monkeypatch.setitem(sys.modules, "pyrage", None)
    with pytest.raises(InputError, match="not installed"):
        backup_folder(tmp_path / "a", lambda: PASSPHRASE)


def test_the_reminder(shop: Path, tmp_path: Path) -> None:
    assert days_since_backup(shop) is None
    assert backup_is_due(shop)
    make_backup(shop, plain(tmp_path / "backups"), at="2026-11-01T08:00:00Z")
    assert days_since_backup(shop, "2026-11-08T07:59:59Z") == 6
    assert not backup_is_due(shop, "2026-11-08T07:59:59Z")
    assert backup_is_due(shop, "2026-11-08T08:00:00Z")
    (shop / LAST_BACKUP_FILE).write_text("{")
    assert days_since_backup(shop) is None


def test_a_copy_without_its_log_is_told_from_the_whole(shop: Path, tmp_path: Path) -> None:
    keeping = open_shop(shop)  # as the bench does, which keeps the log from being taken in
    for number in range(20, 25):
        append(keeping, TAG, "decision", decision(number), at=AT, by=BY)
    make_backup(shop, plain(tmp_path / "backups"))
    copy = tmp_path / "copy"
    copy.mkdir()
    for name in ("shop.toml", "heelstamp.db", LAST_BACKUP_FILE):
        shutil.copy(shop / name, copy / name)
    shutil.copytree(shop / "files", copy / "files")
    keeping.close()
    assert verdicts(copy) == {**SOUND, TAG: "broken"}
    journal, *_ = verify_shop(copy, None, None)
    assert journal.findings == ("entries 6 to 10 stood in the last backup and are gone",)
    lost = {one.where: one.code for one in shop_faults(copy)}
    assert lost == {"the ledger": "end", "H-0001, entry 10": "end"}
    (copy / LAST_BACKUP_FILE).unlink()
    journal, *_ = verify_shop(copy, None, None)
    assert journal.limits == (
        "Whether entries are missing at the end cannot be told: give --last DIGEST.",
    )
    assert shop_faults(copy) == ()
    named = shop_faults(copy, [plain(tmp_path / "backups")], compared=True)
    assert {one.where: len(one.whole_in) for one in named} == {
        "the ledger": 1,
        "H-0001, entry 10": 1,
    }


class FailingDisk(Disk):
    """A disk that is full at the nth thing asked of it."""

    def __init__(self, nth: int) -> None:
        self.left = nth

    def _ask(self) -> None:
        self.left -= 1
        if self.left == 0:
            raise OSError(errno.ENOSPC, "No space left on device")

    def write(self, file: BinaryIO, data: bytes) -> None:
        self._ask()
        super().write(file, data)

    def flush(self, path: Path) -> None:
        self._ask()
        super().flush(path)

    def rename(self, source: Path, target: Path) -> None:
        self._ask()
        super().rename(source, target)


def failed(act: Callable[[BackupFolder], object], backups: Path, nth: int) -> FailingDisk | None:
    """Do *act* on a disk that fills up; None when it was refused for that, the disk otherwise."""
    disk = FailingDisk(nth)
    if disk_is_full(lambda: act(BackupFolder(backups, Plain(), disk))):
        return None
    return disk


def disk_is_full(act: Callable[[], object]) -> bool:
    try:
        act()
    except StorageError as error:
        return error.what == "the disk is full"
    return False


def test_a_disk_that_fills_up_at_any_write(shop: Path, tmp_path: Path) -> None:
    backups = tmp_path / "backups"
    first = make_backup(shop, plain(backups))
    before = content(backups)
    with open_shop(shop) as opened:
        opened.files.put(b"new" * 3000)
    (shop / "terms" / "more.toml").write_text("a = 1\n")
    nth = 1
    while (disk := failed(lambda one: make_backup(shop, one), backups, nth)) is None:
        assert plain(backups).names() == (first.name,)
        after = content(backups)
        assert {name: after[name] for name in before} == before
        assert not [name for name in after if ".partial" in name]
        nth += 1
    assert (nth > 5, disk.left > 0) == (True, True)
    nth = 1
    while failed(lambda one: restore_backup(one, tmp_path / "again"), backups, nth) is None:
        assert not (tmp_path / "again").exists()
        assert not list(tmp_path.glob(".again*"))
        nth += 1
    assert nth > 5
    assert record(tmp_path / "again") == record(shop)


def test_a_small_disk(shop: Path, tmp_path: Path) -> None:
    with small_disk(tmp_path / "small", 64) as mounted:
        if not mounted:
            pytest.skip("only the superuser can mount a small disk; the faked ones run elsewhere")
        with pytest.raises(StorageError, match="the disk is full"):
            make_backup(shop, plain(tmp_path / "small"))
        assert plain(tmp_path / "small").names() == ()
        assert not [name for name in content(tmp_path / "small") if "partial" in name]


def _shown(folder: Path) -> None:
    with open_shop(folder) as opened:
        assert state_of(opened, TAG).length == 5
        opened.journals.keep_findings("date", {"b" * 64: b"{}"})
    assert verdicts(folder) == SOUND
    with open_shop(folder) as opened:
        append(opened, TAG, "decision", decision(30), at=AT, by=BY)


def test_a_folder_without_write_permission_is_shown_and_verified(shop: Path) -> None:
    before = content(shop)
    kind, message = without_permission(lambda: _shown(shop), shop)
    assert (kind, message.split("(")[0]) == (
        "StorageError",
        "heelstamp.db, H-0001: no permission to write ",
    )
    assert content(shop) == before


def test_a_read_only_folder_with_entries_in_the_log_is_not_read_without_them(
    shop: Path, tmp_path: Path
) -> None:
    keeping = open_shop(shop)
    append(keeping, TAG, "decision", decision(30), at=AT, by=BY)
    copy = tmp_path / "copy"
    copy.mkdir()
    for name in ("shop.toml", "heelstamp.db", "heelstamp.db-wal"):
        shutil.copy(shop / name, copy / name)
    keeping.close()
    kind, message = without_permission(lambda: open_shop(copy).close(), copy)
    assert kind == "StorageError"
    assert "newest entries are in a log" in message


@pytest.mark.postgres
def test_a_shop_on_postgresql_leaves_and_comes_back(
    tmp_path: Path, postgres_address: str, postgres_server: str
) -> None:
    shop = tmp_path / "shop"
    with create_shop(shop, name="a", currency="USD", database=postgres_address) as opened:
        open_dossier(opened, INSTRUMENT, at=AT, by=BY)
        opened.comparables.add("sallowby-wherry", [("s1", "{}")])
    made = make_backup(shop, plain(tmp_path / "backups"))
    assert made.manifest.whole
    assert made.manifest.engine == "postgresql"
    assert b"postgresql" not in b"".join(
        data for name, data in content(tmp_path / "backups").items() if name.startswith("files")
    )
    restore_backup(plain(tmp_path / "backups"), tmp_path / "again")
    assert record(tmp_path / "again") == record(shop)
    assert shop_faults(tmp_path / "again") == ()
    with pytest.raises(ConflictError, match="holds rows already"):
        restore_backup(plain(tmp_path / "backups"), tmp_path / "more", database=postgres_address)
    assert not (tmp_path / "more").exists()
    empty = _another(postgres_server)
    restore_backup(plain(tmp_path / "backups"), tmp_path / "server", database=empty)
    assert record(tmp_path / "server") == record(shop)
    assert shop_faults(tmp_path / "server") == ()
    with open_shop(tmp_path / "server") as opened:
        second: Any = {**INSTRUMENT, "tag": "H-0002"}
        open_dossier(opened, second, at=AT, by=BY)
        assert opened.journals.tags() == (TAG, "H-0002")


def _another(server: str) -> str:
    from sqlalchemy import create_engine, make_url, text

    url = make_url(server).set(drivername="postgresql+psycopg")
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text("DROP DATABASE IF EXISTS heelstamp_restored"))
        connection.execute(text("CREATE DATABASE heelstamp_restored"))
    engine.dispose()
    named = url.set(database="heelstamp_restored", drivername="postgresql")
    return named.render_as_string(hide_password=False)


def test_old_backups_go_and_the_last_whole_one_stays(shop: Path, tmp_path: Path) -> None:
    folder = BackupFolder(tmp_path / "backups", Plain(), Disk())
    names = []
    for day in range(1, 5):
        (shop / "terms" / "H-0001.toml").write_text(f"commission = 0.{day}\n")
        names.append(make_backup(shop, folder, at=f"2026-11-0{day}T09:00:00Z").name)
    kept = {one.name for one in (tmp_path / "backups" / "files").glob("*/*")}
    manifest = tmp_path / "backups" / names[3] / "manifest.json"
    whole = manifest.read_bytes()
    manifest.write_bytes(b"{}")  # the newest cannot be read any more
    assert folder.prune(2) == ((names[0],), 0)
    assert folder.names() == tuple(names[1:])
    assert folder.faults(names[2]) == ()
    manifest.write_bytes(whole)
    gone, files = folder.prune(1)
    assert (gone, files) == ((names[1], names[2]), 3)
    assert folder.faults(names[3]) == ()
    assert len({one.name for one in (tmp_path / "backups" / "files").glob("*/*")}) == len(kept) - 3
    (tmp_path / "backups" / names[3] / "heelstamp.db").write_bytes(b"spoilt")
    assert folder.prune(1) == ((), 0)  # none is whole: none is taken away
    with pytest.raises(InputError, match="last whole backup"):
        folder.prune(0)
