"""The demonstration made by its own command, and what that command says in words and as JSON.

Run as a program it types the command twice in one process: whole, then with ``--json`` in a
folder beside, where the two parts that cost the most, the dossier with its compared pairs and the
typeset reports, are those of the first time.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple

WORDS = ("demo", "--shop", "demo-shop", "--fresh")
"""What the tutorial tells a reader to type."""
SHOP, IN_WORDS, AS_JSON = "demo-shop", "demo.txt", "demo.json"
DOSSIER_ONLY, AGAIN = "dossier-only", "demo-shop-again"


class Demonstration(NamedTuple):
    """A folder in which the command was typed."""

    folder: Path

    @property
    def shop(self) -> Path:
        return self.folder / SHOP

    @property
    def told(self) -> str:
        """What the command printed, on one line."""
        return " ".join((self.folder / IN_WORDS).read_text("utf-8").split())

    @property
    def said(self) -> Any:
        """What the command gives to programs."""
        return json.loads((self.folder / AS_JSON).read_text("utf-8"))


def make_demonstration(folder: Path) -> None:
    """Type the command in *folder*."""
    path = os.pathsep.join(one for one in sys.path if one)
    subprocess.run(
        [sys.executable, __file__], cwd=folder, env={**os.environ, "PYTHONPATH": path}, check=True
    )


def _typed(words: tuple[str, ...], into: str) -> None:
    from contextlib import redirect_stdout

    from heelstamp.cli.app import main

    sys.argv = ["heelstamp", *words]
    with Path(into).open("w", encoding="utf-8") as out, redirect_stdout(out):
        try:
            main()
        except SystemExit as ended:
            if ended.code:
                raise


def _type_twice() -> None:
    from heelstamp.shop import demonstration, reports

    make, typeset = demonstration.make_demo_dossier, reports.typeset_report
    made: list[Any] = []
    pdfs: dict[str, bytes] = {}

    def make_and_keep(folder: Path, *given: Any, **named: Any) -> Any:
        made.append(make(folder, *given, **named))
        shutil.copytree(folder, DOSSIER_ONLY)
        return made[0]

    def typeset_and_keep(subject: Any, reader: str, **named: Any) -> bytes:
        pdfs[reader] = typeset(subject, reader, **named)
        return pdfs[reader]

    def made_before(folder: Path, *_: Any, **__: Any) -> Any:
        Path(DOSSIER_ONLY).rename(folder)
        return made[0]

    demonstration.make_demo_dossier = make_and_keep
    reports.typeset_report = typeset_and_keep
    _typed(WORDS, IN_WORDS)
    demonstration.make_demo_dossier = made_before
    reports.typeset_report = lambda _, reader, **__: pdfs[reader]
    _typed(("demo", "--shop", AGAIN, "--json"), AS_JSON)


if __name__ == "__main__":
    _type_twice()
