"""A folder that appears whole: built under another name, flushed to the disk, renamed.

A folder that does not exist yet is built beside its place and renamed: at every moment it is there
whole or not at all. One that exists and is empty keeps its place, since a shell may stand in it or
a disk hang there: what it shall hold is built in a folder inside, then moved up, the members named
in ``last`` at the end. If that is cut off, the folder inside still names what was moved, and the
next attempt clears it first; nothing else is ever cleared.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from uuid import uuid4

from heelstamp.store.flushing import flush_file, flush_folder

UNFINISHED = ".heelstamp-unfinished"
"""Folder inside, while an existing folder is being filled."""
_MEMBERS = "members.json"


def is_unfinished(folder: Path) -> bool:
    """Whether filling this folder was cut off, so that it may be begun again."""
    return (folder / UNFINISHED).is_dir()


def is_vacant(folder: Path) -> bool:
    """Whether something whole may appear here: not there, empty, or cut off while being filled."""
    if not folder.exists():
        return True
    if not folder.is_dir():
        return False
    names = {one.name for one in folder.iterdir()} - {UNFINISHED}
    return names <= set(_moved(folder))


@contextmanager
def appearing(folder: Path, *, last: Sequence[str] = ()) -> Iterator[Path]:
    """Build a folder's content in the one given; it appears as *folder* when the block ends well.

    Parameters
    ----------
    folder
        Not there, or empty; see `is_vacant`, which the caller asks before.
    last
        Members that make it what it is, moved after all others.

    Raises
    ------
    OSError
        The machine refused; nothing is left behind.
    """
    if folder.exists():
        with _filled(folder, last) as building:
            yield building
        return
    made = _missing_parents(folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    building = folder.with_name(f".{folder.name}.{uuid4().hex}.partial")
    try:
        building.mkdir()
        yield building
        flush_tree(building)
        building.rename(folder)
        flush_folder(folder.parent)
    except BaseException:
        shutil.rmtree(building, ignore_errors=True)
        for one in made:
            with suppress(OSError):
                one.rmdir()
        raise


@contextmanager
def _filled(folder: Path, last: Sequence[str]) -> Iterator[Path]:
    building = folder / UNFINISHED
    if building.is_dir():
        _clear(folder)
    content = building / "content"
    try:
        content.mkdir(parents=True)
        yield content
        flush_tree(content)
        names = sorted((one.name for one in content.iterdir()), key=lambda one: (one in last, one))
        (building / _MEMBERS).write_text(json.dumps(names), encoding="utf-8")
        flush_file(building / _MEMBERS)
        flush_folder(building)
        for name in names:
            (content / name).rename(folder / name)
        flush_folder(folder)
        shutil.rmtree(building)
    except BaseException:
        with suppress(OSError):
            _clear(folder)
        raise


def _moved(folder: Path) -> list[str]:
    """Members that were named to be moved, as far as the folder inside can tell."""
    try:
        told = json.loads((folder / UNFINISHED / _MEMBERS).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return []
    plain = isinstance(told, list) and all(isinstance(one, str) for one in told)
    return [one for one in told if Path(one).name == one] if plain else []


def _clear(folder: Path) -> None:
    """Take away what an attempt that was cut off left; the folder inside goes last."""
    for name in reversed(_moved(folder)):
        path = folder / name
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
    shutil.rmtree(folder / UNFINISHED, ignore_errors=True)


def flush_tree(folder: Path) -> None:
    """Wait until every file and name under *folder* is on the disk."""
    for place, _, names in os.walk(folder):
        for name in names:
            flush_file(Path(place) / name)
        flush_folder(Path(place))


def _missing_parents(folder: Path) -> list[Path]:
    """Folders that have to be made above *folder*, the innermost first."""
    return [one for one in folder.parents if not one.exists()]
