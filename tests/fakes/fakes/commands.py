"""The command line, typed in this process: what it answers is what a shell would get."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from heelstamp.cli.app import main

OPENING = (
    "--maker",
    "Sallowby Instrument Works",
    "--model",
    "Wherry",
    "--chronology",
    "sallowby-wherry",
)
"""What the command is told of a new instrument."""


class Done(NamedTuple):
    """A command's exit code, what it printed, and what it said on the error output."""

    code: int
    out: str
    err: str


Run = Callable[..., Done]


def type_command(*words: object, cwd: Path, typed: str = "") -> Done:
    """Run ``heelstamp`` with *words* in the folder *cwd*, *typed* being its standard input."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    line = patch.object(sys, "argv", ["heelstamp", *map(str, words)])
    keyboard = patch.object(sys, "stdin", io.StringIO(typed))
    with line, keyboard, redirect_stdout(out), redirect_stderr(err), chdir(cwd):
        try:
            main()
        except SystemExit as ended:
            code = ended.code or 0
    assert isinstance(code, int)
    return Done(code, *(one.buffer.getvalue().decode("utf-8") for one in (out, err)))
