"""Machines that refuse: a small disk that fills up, and a user without permissions."""

import multiprocessing
import os
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

NOBODY = 65534


@contextmanager
def small_disk(folder: Path, kibibytes: int) -> Iterator[bool]:
    """Mount a disk of this size on *folder*; gives False where this user may not mount."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={kibibytes}k,mode=777", "tmpfs", str(folder)]
    try:
        mounted = subprocess.run(command, check=False, capture_output=True).returncode == 0
    except FileNotFoundError:
        mounted = False
    try:
        yield mounted
    finally:
        if mounted:
            subprocess.run(["umount", "-l", str(folder)], check=True)


@contextmanager
def read_only(folder: Path) -> Iterator[bool]:
    """Let nobody write below *folder*, not the superuser either; gives False where that cannot be.

    A superuser may write anywhere but on what is mounted to be read (Linux); others lose the
    permission.
    """
    if os.geteuid() != 0:
        kept = [(one, one.stat().st_mode) for one in (folder, *folder.rglob("*"))]
        for one, mode in kept:
            one.chmod(mode & ~0o222)
        try:
            yield True
        finally:
            for one, mode in kept:
                one.chmod(mode)
        return
    steps = (["mount", "--bind", str(folder), str(folder)],
             ["mount", "-o", "remount,ro,bind", str(folder)])  # fmt: skip
    mounted = 0
    try:
        for step in steps:
            if subprocess.run(step, check=False, capture_output=True).returncode == 0:
                mounted += 1
        yield mounted == len(steps)
    finally:
        if mounted:
            subprocess.run(["umount", "-l", str(folder)], check=True)


def _run(send: Any, act: Callable[[], None]) -> None:
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    try:
        act()
    except BaseException as error:  # noqa: BLE001 - carried to the test
        send.send((type(error).__name__, str(error)))
    else:
        send.send(("", ""))


def without_permission(act: Callable[[], None], forbidden: Path) -> tuple[str, str]:
    """Run *act* as a user who may read but not write *forbidden*.

    Gives the name and message of the error. The superuser may write anywhere, so for it the act
    runs in a child process under the system's user with the least rights.
    """
    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)
    restored: list[tuple[Path, int]] = []
    for path in [*forbidden.parents][::-1]:  # the way there must be open to that user
        if path.stat().st_uid == os.geteuid() and path.stat().st_mode & 0o005 != 0o005:
            restored.append((path, path.stat().st_mode))
            path.chmod(path.stat().st_mode | 0o005)
    for path in [forbidden, *(forbidden.rglob("*") if forbidden.is_dir() else ())]:
        restored.append((path, path.stat().st_mode))
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        process = context.Process(target=_run, args=(send, act))
        process.start()
        assert receive.poll(60), "the child process said nothing"
        outcome: tuple[str, str] = receive.recv()
        process.join(timeout=30)
    finally:
        for path, mode in reversed(restored):
            if path.exists():
                path.chmod(mode)
    return outcome
