"""Kept files: whole or not at all, verified when read, every fault reported."""

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fakes.machines import small_disk, without_permission
from heelstamp.archive import sha256
from heelstamp.errors import InputError, IntegrityError, StorageError
from heelstamp.media.files import ContentFiles, write_whole


def everything(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "files"


def test_a_file_is_kept_under_its_digest(folder: Path) -> None:
    files = ContentFiles(folder)
    digest = files.put(b"picture")
    assert digest == sha256(b"picture")
    assert files.get(digest) == b"picture"
    assert files.has(digest)
    assert everything(folder) == [digest[:2], f"{digest[:2]}/{digest[2:]}"]


def test_what_is_kept_is_not_written_again(folder: Path) -> None:
    files = ContentFiles(folder)
    digest = files.put(b"picture")
    before = files.path_of(digest).stat()
    assert files.put(b"picture") == digest
    assert files.path_of(digest).stat().st_ino == before.st_ino
    assert files.path_of(digest).stat().st_mtime_ns == before.st_mtime_ns


def test_a_file_shortened_by_a_fault_is_mended_by_keeping_it_again(folder: Path) -> None:
    files = ContentFiles(folder)
    digest = files.put(b"picture")
    files.path_of(digest).write_bytes(b"pic")
    files.put(b"picture")
    assert files.get(digest) == b"picture"


@pytest.mark.parametrize("data", [b"", b"x" * 3_000_000])
def test_any_length_is_kept(folder: Path, data: bytes) -> None:
    files = ContentFiles(folder)
    assert files.get(files.put(data)) == data


def test_a_changed_byte_is_found_when_the_file_is_read(folder: Path) -> None:
    files = ContentFiles(folder)
    digest = files.put(b"picture")
    files.path_of(digest).write_bytes(b"pictura")
    with pytest.raises(IntegrityError, match="a kept file has changed") as caught:
        files.get(digest)
    assert sha256(b"pictura") in caught.value.received


def test_a_missing_file_is_said_to_be_missing(folder: Path) -> None:
    with pytest.raises(IntegrityError, match="a kept file is missing"):
        ContentFiles(folder).get("a" * 64)


@pytest.mark.parametrize("name", ["../../etc/passwd", "a" * 63, "A" * 64, ""])
def test_only_a_digest_names_a_file(folder: Path, name: str) -> None:
    with pytest.raises(InputError, match="not a SHA-256"):
        ContentFiles(folder).get(name)


def test_all_faults_are_reported_together(folder: Path) -> None:
    files = ContentFiles(folder)
    sound, changed, gone = (files.put(data) for data in (b"sound", b"changed", b"gone"))
    files.path_of(changed).write_bytes(b"changeD")
    files.path_of(gone).unlink()
    (folder / "ab").mkdir(exist_ok=True)
    (folder / "ab" / "x.partial").write_bytes(b"half")
    (folder / "note.txt").write_text("stray")
    found = files.verify_all({sound: 5, changed: 7, gone: 4})
    assert {(one.code, one.name) for one in found} == {
        ("changed", changed),
        ("missing", gone),
        ("left over", "x.partial"),
        ("left over", "note.txt"),
    }


@pytest.mark.parametrize(
    ("number", "what"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EDQUOT, "the disk is full"),
        (errno.EROFS, "no permission"),
        (errno.EIO, "the disk refused"),
    ],
)
def test_a_disk_that_fails_half_way_leaves_nothing(folder: Path, number: int, what: str) -> None:
    def failing(descriptor: int, data: bytes) -> None:
        write_whole(descriptor, data[: len(data) // 2])
        raise OSError(number, os.strerror(number))

    with pytest.raises(StorageError) as caught:
        ContentFiles(folder, write=failing).put(b"picture")
    assert caught.value.what == what
    assert caught.value.where.startswith("file ")
    assert caught.value.received == os.strerror(number)
    assert caught.value.remedy
    assert everything(folder) == []


def test_an_interruption_leaves_nothing(folder: Path) -> None:
    def interrupted(descriptor: int, data: bytes) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ContentFiles(folder, write=interrupted).put(b"picture")
    assert everything(folder) == []


def test_a_disk_that_takes_little_at_a_time_gets_it_all(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = os.write
    monkeypatch.setattr(os, "write", lambda descriptor, data: really(descriptor, data[:3]))
    files = ContentFiles(folder)
    assert files.get(files.put(b"0123456789")) == b"0123456789"


def test_a_real_full_disk(tmp_path: Path) -> None:
    with small_disk(tmp_path / "small", 64) as mounted:
        if not mounted:
            pytest.skip("only the superuser can mount a small disk; the faked one ran above")
        files = ContentFiles(tmp_path / "small" / "files")
        digest = files.put(b"first")
        before = everything(tmp_path / "small")
        with pytest.raises(StorageError, match="the disk is full"):
            files.put(os.urandom(200_000))
        assert everything(tmp_path / "small") == before
        assert files.get(digest) == b"first"


def test_without_permission(tmp_path: Path) -> None:
    folder = tmp_path / "files"
    folder.mkdir()

    def keep() -> None:
        ContentFiles(folder).put(b"x")

    kind, message = without_permission(keep, folder)
    assert kind == "StorageError"
    assert "no permission" in message
    assert "Give this user write permission" in message
    assert everything(folder) == []


def test_a_killed_process_leaves_a_partial_file_that_is_never_taken_for_a_kept_one(
    folder: Path,
) -> None:
    program = (
        "import os, signal; from pathlib import Path; "
        "from heelstamp.media.files import ContentFiles, write_whole\n"
        "def write(descriptor, data):\n"
        "    write_whole(descriptor, data[:3]); os.kill(os.getpid(), signal.SIGKILL)\n"
        f"ContentFiles(Path({str(folder)!r}), write=write).put(b'picture')"
    )
    done = subprocess.run([sys.executable, "-c", program], check=False)
    assert done.returncode == -signal.SIGKILL
    files = ContentFiles(folder)
    assert not files.has(sha256(b"picture"))
    (fault,) = files.verify_all({})
    assert fault.code == "left over"
    assert files.get(files.put(b"picture")) == b"picture"
