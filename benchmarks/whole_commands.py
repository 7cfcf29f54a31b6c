"""Wall time of whole commands, in a process of their own, and of typesetting the demo's report."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from heelstamp.casework.replay import replay
from heelstamp.reference.demonstration import (
    DEMO_SHOP_NAME,
    demo_journal,
    demo_photographs,
    demo_recordings,
)
from heelstamp.report.typesetter import typesetter
from heelstamp.shop import create_shop, now
from heelstamp.shop.opened import load_subject
from heelstamp.shop.reports import typeset_report
from heelstamp.shop.subjects import date_subject
from results import Result, seconds

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "wherry-s10350.toml"
TAG = "H-0001"


def _command(*words: str) -> None:
    """Run the program as a shop would, with every core the machine has."""
    program = Path(sys.executable).with_name("heelstamp")
    free = {key: value for key, value in os.environ.items() if not key.endswith("_NUM_THREADS")}
    done = subprocess.run(  # noqa: S603
        [program, *words], check=False, capture_output=True, text=True, env=free, cwd=ROOT
    )
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["nothing said"])[-1]
        raise RuntimeError(f"heelstamp {words[0]} ended with {done.returncode}: {last}")


def _wall_and_cpu(work: Callable[[], object], repeat: int) -> tuple[float, float]:
    """The median wall time of *work*, and CPU seconds a run of this process and children."""
    before = sum(os.times()[:4])
    wall = seconds(work, repeat, time.perf_counter)
    return wall, (sum(os.times()[:4]) - before) / (repeat + 1)


def dating() -> Iterator[Result]:
    """Measure ``heelstamp date`` from start to exit."""
    took, cpu = _wall_and_cpu(lambda: _command("date", str(EXAMPLE), "--json"), 7)
    yield Result(
        "heelstamp date examples/wherry-s10350.toml --json",
        cpu,
        "CPU s",
        ("at most", 0.35),
        f"whole process, mean of 8; wall {took:.2f} s, median of 7",
    )


def demonstration() -> Iterator[Result]:
    """Measure the demo, and its report by itself."""
    with TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        took, cpu = _wall_and_cpu(lambda: _command("demo", "--shop", str(shop), "--fresh"), 3)
        yield Result(
            "heelstamp demo",
            cpu,
            "CPU s",
            ("at most", 10),
            f"whole process, mean of 4; wall {took:.1f} s, median of 3",
        )
        with create_shop(Path(folder) / "other", name=DEMO_SHOP_NAME, currency="USD") as opened:
            replay(opened, TAG, demo_journal(), demo_photographs() | demo_recordings())
        subject = load_subject(TAG, Path(folder) / "other")
        paper = b""

        def typeset() -> None:
            nonlocal paper
            paper = typeset_report(subject, "buyer", at=now())
            typesetter.close()  # its process is counted once it has ended

        took, cpu = _wall_and_cpu(typeset, 5)
        dated = seconds(lambda: date_subject(subject), 5)
        yield Result(
            "buyer's report of the demo dossier, typeset as PDF",
            cpu,
            "CPU s",
            ("at most", 1.2),
            f"{len(subject.state.photographs)} photographs in the dossier, "
            f"{len(paper) / 1e6:.1f} MB; wall {took:.2f} s; with its dating, changed tables and "
            "the start of a typesetter's process",
        )
        yield Result(
            "  the date finding it stands on",
            dated,
            "CPU s",
            beside="with leave-one-out, surprises and readings",
        )
