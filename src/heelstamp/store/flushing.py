"""Waiting until what was written is on the disk."""

from __future__ import annotations

import os
from pathlib import Path


def flush_file(path: Path) -> None:
    """Wait until the file is on the disk."""
    descriptor = os.open(path, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def make_folder_kept(folder: Path) -> None:
    """Make a folder and those it lies in where they are not there, and wait until they are kept."""
    made = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for one in made:
        flush_folder(one.parent)


def flush_folder(folder: Path) -> None:
    """Wait until the names in *folder* are on the disk, where a system can tell."""
    if os.name == "posix":  # other systems cannot open a folder
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
