"""``docs/performance.md``: a section for each part of ``run.py``, renewed when it was run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from results import Result

PAGE = Path(__file__).parents[1] / "docs" / "performance.md"
HEAD = """# Performance

Written by `make bench`; `python benchmarks/run.py PART …` renews the sections of those parts only,
so each names its own machine, load and day. `benchmarks/README.md` tells how each is measured.
On a shared machine wall time, and to a lesser degree CPU time, grow with what else runs: read a
figure against the load in its line. A goal that is missed says so.
"""


def renew(measured: Mapping[str, Sequence[Result]], run: str, order: Sequence[str]) -> None:
    """Write the page anew: *measured* parts as they came out in *run*, the others as they stand."""
    old = PAGE.read_text("utf-8") if PAGE.exists() else ""
    made = {name: section(results, run) for name, results in measured.items()}
    PAGE.write_text(renewed(old, made, order), "utf-8")


def renewed(page: str, made: Mapping[str, str], order: Sequence[str]) -> str:
    """The page with the sections of *made* in the place of those it had, in *order*."""
    _, *had = page.split("\n## ")
    sections = {name: body for name, _, body in (one.partition("\n") for one in had)}
    sections |= {name: f"\n{text}\n" for name, text in made.items()}
    kept = [name for name in order if name in sections]
    return HEAD + "".join(f"\n## {name}\n\n{sections[name].strip()}\n" for name in kept)


def section(results: Sequence[Result], run: str) -> str:
    """One part: what it ran on, and its table."""
    lines = [
        "| measured | figure | goal | verdict | beside it, in the same run |",
        "|---|--:|---|---|---|",
    ]
    lines += [
        "| " + " | ".join(cell.strip().replace("|", "\\|") for cell in one.cells()) + " |"
        for one in results
    ]
    return "\n".join([f"{run}.", "", *lines])
