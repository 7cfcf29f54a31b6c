"""The power goes: what of a folder may be on the disk then, in every order that a disk may choose.

An act is recorded as it asks the system for names and flushes: which name was given to which file
or folder, what each file held, and which of them was flushed (``fsync``). At a cut, a name that was
given, taken or moved is on the disk for certain only when its folder was flushed since; else it
may be there or not, each for itself (POSIX promises no order). What a file holds is certain when it
was flushed since; else it holds what it held at the last flush, or nothing, or half, or all. A
rename is one step. What SQLite writes is taken as it stands: how it survives a cut is its own
matter, and tested by its makers (sqlite.org, *How SQLite Is Tested*, 3.3).
"""

from __future__ import annotations

import itertools
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

SQLITES = ("heelstamp.db", "heelstamp.db-wal", "heelstamp.db-shm")
ASKED = ("open", "os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.link", "shutil.rmtree")
WHOLE, BEFORE, HALF = "whole", "before", "half"


@dataclass(frozen=True)
class Names:
    """Names given and taken in one step, each as folder, name and what it names."""

    given: tuple[tuple[int, str, int], ...]
    taken: tuple[tuple[int, str, int], ...]


@dataclass(frozen=True)
class Flushed:
    """A file or folder that is on the disk from here on."""

    node: int


@dataclass(frozen=True)
class Held:
    """What a file holds from here on; *trusted* where SQLite wrote it."""

    node: int
    data: bytes
    trusted: bool


Step = Names | Flushed | Held


@dataclass
class Recording:
    """Steps of an act below a folder, after how it lay there.

    What SQLite did to its files between two looks is one step with whatever else was done: a cut
    within is its own matter.
    """

    root: int
    folders: dict[int, dict[str, int]]
    files: dict[int, bytes]
    steps: list[list[Step]] = field(default_factory=list)


class _Watch:
    """What lies below a folder, looked at again and again; numbers are never used twice."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.numbers: dict[int, int] = {}
        self.last = 0
        self.names, self.held = self._looked()
        root = self.numbers[folder.stat().st_ino]
        folders = {node: dict(one) for node, one in self.names.items()}
        self.kept = Recording(root, folders, dict(self.held))

    def look(self) -> None:
        """Note what was done since the last look: at most one thing."""
        was, held = self.names, self.held
        self.names, self.held = self._looked()
        sqlite = {
            node for tree in self.names.values() for one, node in tree.items() if one in SQLITES
        }
        done: list[Step] = [
            Held(node, data, node in sqlite)
            for node, data in self.held.items()
            if held.get(node) != data
        ]
        given, taken = _less(self.names, was), _less(was, self.names)
        if given or taken:
            done.append(Names(tuple(given), tuple(taken)))
        if done:
            self.kept.steps.append(done)

    def flushed(self, inode: int) -> None:
        """Note that what has this inode now is on the disk."""
        if inode in self.numbers:
            self.kept.steps.append([Flushed(self.numbers[inode])])

    def _looked(self) -> tuple[dict[int, dict[str, int]], dict[int, bytes]]:
        seen: dict[int, int] = {}

        def number(path: str) -> int:
            inode = Path(path).stat().st_ino
            if inode not in seen:
                seen[inode] = self.numbers.get(inode) or self._next()
            return seen[inode]

        names: dict[int, dict[str, int]] = {}
        held: dict[int, bytes] = {}
        for place, folders, files in os.walk(self.folder):
            tree = names.setdefault(number(place), {})
            for one in (*folders, *files):
                tree[one] = number(f"{place}/{one}")
            for one in files:
                held[tree[one]] = Path(place, one).read_bytes()
        self.numbers = seen  # an inode that is gone is another thing when it comes again
        return names, held

    def _next(self) -> int:
        self.last += 1
        return self.last


@contextmanager
def recorded(folder: Path) -> Iterator[Recording]:
    """Record what is done below *folder* in this thread, which lies on the disk as it is."""
    watch, watching = _Watch(folder), [True]

    def hook(event: str, told: tuple[Any, ...]) -> None:
        if watching[0] and event in ASKED and str(folder) in str(told[:2]):
            watching[0] = False
            watch.look()
            watching[0] = True

    real = os.fsync

    def fsync(descriptor: int) -> None:
        real(descriptor)
        watching[0] = False
        watch.look()
        watch.flushed(os.fstat(descriptor).st_ino)
        watching[0] = True

    sys.addaudithook(hook)
    try:
        with patch.object(os, "fsync", fsync):
            yield watch.kept
        watching[0] = False
        watch.look()
    finally:
        watching[0] = False  # a hook cannot be taken away


def cuts(
    kept: Recording, many: int, seed: int, *, end: bool = False
) -> Iterator[tuple[int, dict[str, bytes | None]]]:
    """Give cuts at random: after how many steps, and what lies below the folder then.

    None stands for a folder. With *end* every cut comes after the act was done.
    """
    draw = np.random.default_rng(seed)
    for _ in range(many):
        upto = len(kept.steps) if end else int(draw.integers(0, len(kept.steps) + 1))
        style = draw.choice(["each", "all", "none"])
        holds = str(draw.choice([WHOLE, BEFORE, HALF]))
        yield upto, _after(kept, upto, style, holds, draw)


def laid_out(tree: dict[str, bytes | None], folder: Path) -> None:
    """Write what was left into a new folder."""
    folder.mkdir()
    for name, data in sorted(tree.items()):
        path = folder / name
        if data is None:
            path.mkdir()
        else:
            path.write_bytes(data)


def _after(
    kept: Recording, upto: int, style: str, holds: str, draw: np.random.Generator
) -> dict[str, bytes | None]:
    folders = {node: dict(one) for node, one in kept.folders.items()}
    sure, last = dict(kept.files), dict(kept.files)
    waiting: list[Names] = []
    for step in itertools.chain.from_iterable(kept.steps[:upto]):
        if isinstance(step, Held):
            last[step.node] = step.data
            if step.trusted:
                sure[step.node] = step.data
        elif isinstance(step, Names):
            waiting.append(step)
            if all(name in SQLITES for _, name, _ in (*step.given, *step.taken)):
                _apply(folders, step)
                waiting.pop()
        else:
            if step.node in last:
                sure[step.node] = last[step.node]
            for one in [one for one in waiting if step.node in _places(one)]:
                _apply(folders, one)
                waiting.remove(one)
    for one in waiting:
        if style == "all" or (style == "each" and draw.random() < 0.5):
            _apply(folders, one)
    node_data = {
        node: data
        if holds == WHOLE or sure.get(node) == data
        else sure.get(node, b"")
        if holds == BEFORE
        else data[: len(data) // 2]
        for node, data in last.items()
    }
    return _walked(folders, node_data, kept.root)


def _walked(
    folders: dict[int, dict[str, int]], files: dict[int, bytes], root: int, where: str = ""
) -> dict[str, bytes | None]:
    found: dict[str, bytes | None] = {}
    for name, one in folders.get(root, {}).items():
        found[f"{where}{name}"] = files.get(one)
        if one not in files:
            found |= _walked(folders, files, one, f"{where}{name}/")
    return found


def _places(step: Names) -> set[int]:
    return {folder for folder, _, _ in (*step.given, *step.taken)}


def _apply(folders: dict[int, dict[str, int]], step: Names) -> None:
    for folder, name, node in step.taken:
        if folders.get(folder, {}).get(name) == node:
            del folders[folder][name]
    for folder, name, node in step.given:
        folders.setdefault(folder, {})[name] = node


def _less(
    now: dict[int, dict[str, int]], was: dict[int, dict[str, int]]
) -> list[tuple[int, str, int]]:
    return [
        (folder, name, node)
        for folder, tree in now.items()
        for name, node in tree.items()
        if was.get(folder, {}).get(name) != node
    ]


def faults_of_cuts(
    act: Callable[[Path], None],
    check: Callable[[Path], list[str]],
    place: Path,
    *,
    many: int,
    seed: int = 1,
    done: Callable[[Path], list[str]] | None = None,
) -> list[str]:
    """Do *act* in ``place/disk``, cut the power *many* times, and gather what does not hold.

    Parameters
    ----------
    check
        What must hold at whatever moment the power went.
    done
        What must hold besides when the act was done before.
    """
    with recorded(place / "disk") as kept:
        act(place / "disk")
    told = []
    plans = [(check, cuts(kept, many, seed))]
    if done is not None:
        plans.append((done, cuts(kept, max(1, many // 3), seed + 1, end=True)))
    number = 0
    for wanted, made in plans:
        for upto, tree in made:
            number += 1
            left = place / f"left {number}"
            laid_out(tree, left)
            told += [f"cut after {upto} of {len(kept.steps)}: {one}" for one in wanted(left)]
    return told
