"""Freed memory goes back to the system; nothing is asked of a system that has no such call."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from heelstamp.shop.freed_memory import give_back, given_back

BLOCKS, BLOCK = 4000, 16_000
"""64 MB in blocks that the C library keeps when they are freed."""


def held() -> int:
    """Bytes of memory in use by this process (proc_pid_statm(5))."""
    return int(Path("/proc/self/statm").read_text("ascii").split()[1]) * 4096


@pytest.mark.skipif(sys.platform != "linux", reason="malloc_trim is of the GNU C library")
def test_freed_memory_is_given_back() -> None:
    pins, blocks = [], []
    for _ in range(BLOCKS):
        blocks.append(bytearray(BLOCK))
        pins.append(bytearray(600))  # keeps the heap from shrinking by itself
    del blocks
    before = held()
    give_back()
    assert len(pins) == BLOCKS
    assert held() < before - BLOCKS * BLOCK // 2


def test_it_ends_with_its_block() -> None:
    with given_back(every_s=0.001):
        give_back()


def test_other_systems_are_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "darwin")
    give_back()
