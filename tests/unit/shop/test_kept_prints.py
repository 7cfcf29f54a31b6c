"""Copies kept for papers: once made, checked when read, bounded, and never needed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from heelstamp.shop.kept_prints import KeptPrints


def refuse() -> bytes:
    raise AssertionError("it was kept")


def test_it_is_made_once_and_another_key_is_another_copy(tmp_path: Path) -> None:
    kept = KeptPrints(tmp_path / "c")
    assert kept.get(("copy", "a", 1800), lambda: b"one") == b"one"
    assert KeptPrints(tmp_path / "c").get(("copy", "a", 1800), refuse) == b"one"
    assert kept.get(("copy", "a", 1000), lambda: b"two") == b"two"
    assert kept.get(("print", "a", ((0.1, 0.2, 0.3, 0.4),)), lambda: b"boxed") == b"boxed"
    assert kept.get(("print", "a", ()), lambda: b"bare") == b"bare"


@pytest.mark.parametrize("spoil", [b"", b"short", b"x" * 40])
def test_a_spoilt_copy_is_made_anew(tmp_path: Path, spoil: bytes) -> None:
    kept = KeptPrints(tmp_path)
    kept.get(("a",), lambda: b"right")
    (file,) = tmp_path.glob("*.print")
    file.write_bytes(spoil)
    assert kept.get(("a",), lambda: b"right") == b"right"
    assert kept.get(("a",), refuse) == b"right"


def test_the_folder_keeps_its_bound_and_lets_go_of_the_oldest(tmp_path: Path) -> None:
    kept = KeptPrints(tmp_path, most=1000)
    for number in range(20):
        kept.get((number,), lambda: b"x" * 100)
        for file in tmp_path.glob("*.print"):
            if file.stat().st_mtime_ns > 10**18:
                os.utime(file, ns=(number, number))
        assert sum(one.stat().st_size for one in tmp_path.glob("*.print")) <= 1000
    assert kept.get((19,), refuse) == b"x" * 100
    assert kept.get((0,), lambda: b"anew") == b"anew"


def test_a_folder_that_cannot_be_made_keeps_nothing_and_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    kept = KeptPrints(tmp_path / "file" / "c")
    assert kept.get(("a",), lambda: b"one") == b"one"
    assert kept.get(("a",), lambda: b"made again") == b"made again"
