"""What a file that asks for too much costs before it is refused.

Each is handed to a fresh reader process; memory is the most that process ever held, time runs from
handing it in to the refusal, start of the process included. The comma files are read here, and
their memory is that of a process of their own. `python benchmarks/bombs.py` prints the table; with
`--one NAME` one of them.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fakes import bombs

BOMBS: dict[str, tuple[Callable[[], bytes], str, str]] = {
    "png of 159 megapixels": (bombs.large_png, "read_photograph", "a.png"),
    "png of 110 megapixels": (lambda: bombs.png(10_488, 10_488), "read_photograph", "a.png"),
    "png, profile of 1 GB": (bombs.profile_png, "read_photograph", "a.png"),
    "jpeg of 1,900 scans": (bombs.scanned_jpeg, "read_photograph", "a.jpg"),
    "workbook, 1.2 million cells": (bombs.full_workbook, "read_sheet", "a.xlsx"),
    "workbook, promised 100 million": (bombs.wide_workbook, "read_sheet", "a.xlsx"),
    "workbook, rows to column XFD": (bombs.far_workbook, "read_sheet", "a.xlsx"),
    "workbook of entities": (bombs.entity_workbook, "read_sheet", "a.xlsx"),
    "workbook of 4 GB": (bombs.hollow_workbook, "read_sheet", "a.xlsx"),
    "commas, 49 MB": (lambda: bombs.commas(49), "read_sheet", "a.csv"),
    "commas, one row": (lambda: b"id" + b"," * 2_900_000, "read_sheet", "a.csv"),
    "flac of 20 minutes, 8 channels": (bombs.long_flac, "read_recording", "a.flac"),
    "mp3 of 100 minutes": (bombs.long_mp3, "read_recording", "a.mp3"),
    "webm of 330 bytes": (bombs.webm_of_330_bytes, "spoken_seconds", "a.webm"),
}


def one(name: str) -> None:
    """Hand in one of them, and print what it cost."""
    from heelstamp.errors import HeelstampError
    from heelstamp.media import confinement, decoding, spoken

    make, task, called = BOMBS[name]
    data = make()
    before = confinement.peak_bytes()
    begun = time.perf_counter()
    try:
        if task == "spoken_seconds":
            spoken.spoken_seconds(data, "audio/webm", called)
        else:
            getattr(decoding, task)(data, called)
        told = "READ"
    except HeelstampError as error:
        told = type(error).__name__ + ": " + error.what
    took = time.perf_counter() - begun
    here = called.endswith((".csv", ".webm"))
    peak = confinement.peak_bytes() if here else decoding.peak_bytes()
    more = f" ({(peak - before) / 1e6:.0f} above the file's own)" if here else ""
    print(f"{name:32} {len(data) / 1e3:9.1f} kB {took:6.2f} s {peak / 1e6:5.0f} MB{more}  {told}")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2])
    else:
        for each in BOMBS:
            subprocess.run(  # noqa: S603 - this very file
                [sys.executable, __file__, "--one", each], check=False
            )
