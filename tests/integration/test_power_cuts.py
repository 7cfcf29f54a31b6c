"""A power cut at any moment, whatever of it the disk had written, leaves nothing half and lost."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fakes.cut_acts import ACTS
from fakes.power_cuts import cuts, faults_of_cuts, recorded

EACH = 6
"""Cuts of each act in the suite; `benchmarks/power_cuts.py` makes hundreds."""


@pytest.mark.skipif(os.name != "posix", reason="names are flushed on POSIX systems alone")
@pytest.mark.parametrize("act", ACTS)
def test_what_a_power_cut_leaves(act: str, tmp_path: Path) -> None:
    lay_out, do, check, done = ACTS[act]
    (tmp_path / "disk").mkdir()
    lay_out(tmp_path / "disk")
    told = faults_of_cuts(do, check, tmp_path, many=EACH, seed=7, done=done)
    assert told == []


def careless(disk: Path) -> None:
    """Write over a file in its place, and rename another without a flush."""
    (disk / "a").write_bytes(b"newer")
    (disk / "b.partial").write_bytes(b"newer")
    (disk / "b.partial").rename(disk / "b")


@pytest.mark.skipif(os.name != "posix", reason="as above")
def test_what_is_not_flushed_can_be_lost_or_half(tmp_path: Path) -> None:
    """The test of the test: a careless writer is found out in every way there is."""
    disk = tmp_path / "disk"
    disk.mkdir()
    for name in "ab":
        (disk / name).write_bytes(b"older")
    with recorded(disk) as kept:
        careless(disk)
    left = [tree for _, tree in cuts(kept, 200, 3)]
    assert {tree.get("a") for tree in left} == {b"older", b"newer", b"ne"}
    assert {tree.get("b") for tree in left} == {b"older", b"newer", b"ne", b""}
    flushed = tmp_path / "flushed"
    flushed.mkdir()

    def careful(disk: Path) -> None:
        with (disk / "c.partial").open("wb") as file:
            file.write(b"newer")
            file.flush()
            os.fsync(file.fileno())
        (disk / "c.partial").rename(disk / "c")
        folder = os.open(disk, os.O_RDONLY)
        os.fsync(folder)
        os.close(folder)

    with recorded(flushed) as kept:
        careful(flushed)
    assert {tree.get("c") for _, tree in cuts(kept, 100, 3)} == {None, b"newer"}
    assert {tree.get("c") for _, tree in cuts(kept, 20, 3, end=True)} == {b"newer"}
