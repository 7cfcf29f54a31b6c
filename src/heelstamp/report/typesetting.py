"""The process in which papers are typeset: one after another, its memory its own.

The typesetter remembers what it laid out and never lets go of it, some 80 MB a paper; here that
ends with the process. It is a program of its own, ``python -c "from heelstamp.report.typesetting
import main; main()"``: a line of JSON names the folder of a paper and its time of making, and the
answer is a head (1 where it went well, and a length of 8 bytes, big-endian) and then the PDF, or
why there is none. The process ends when its input does.
"""

from __future__ import annotations

import json
import os
import signal
import struct
import sys
from datetime import datetime
from pathlib import Path
from typing import IO

MAIN = "main.typ"
FONTS = Path(__file__).parent / "fonts"
HEAD = struct.Struct(">BQ")


def main() -> None:
    """Answer requests until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a terminal sends it to both; the input decides
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (1, 2):
        os.dup2(nowhere, stream)
    for line in sys.stdin.buffer:
        told = json.loads(line)
        _answer(answers, Path(told["folder"]), datetime.fromisoformat(told["at"]))


def _answer(answers: IO[bytes], folder: Path, at: datetime) -> None:
    import typst  # noqa: PLC0415 - 80 MB, wanted only when a paper is made

    try:
        done, data = True, compiled(folder, at)
    except (typst.TypstError, RuntimeError, OSError) as error:
        done, data = False, str(getattr(error, "message", error)).encode("utf-8", "replace")
    answers.write(HEAD.pack(done, len(data)))
    answers.write(data)
    answers.flush()


def compiled(folder: Path, at: datetime) -> bytes:
    """Typeset `MAIN` of a folder."""
    import typst  # noqa: PLC0415 - see above

    compiler = typst.Compiler(
        str(folder / MAIN), root=str(folder), font_paths=[str(FONTS)], ignore_system_fonts=True
    )
    pdf = compiler.compile(format="pdf", pdf_standards=["a-3a", "ua-1"], timestamp=at)
    assert isinstance(pdf, bytes)  # of one file, not of pages
    return pdf
