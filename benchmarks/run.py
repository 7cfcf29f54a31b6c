"""Run every benchmark once, print one table and write docs/performance.md; never fails by figures.

Usage: python benchmarks/run.py [part …] (``make bench`` runs all, and installs the peers first).
README.md beside this file tells how each figure is measured.
"""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ[_name] = "1"  # one core; must stand before numpy is imported


def machine() -> str:
    """Name the machine and what the figures depend on."""
    import numpy as np

    blas = np.show_config(mode="dicts")["Build Dependencies"]["blas"]
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return (
        f"{platform.machine()}, {cores} cores{load}; Python {platform.python_version()}; "
        f"numpy {np.__version__}; {blas['name']} {blas['version']}, one thread"
    )


def main(asked: Sequence[str]) -> int:
    """Measure the parts *asked* for, or everything; print the table and renew the page."""
    import bench_pages
    import bench_paint
    import copy_guesses
    import crackle_accuracy
    import dating_speed
    import finish_registration
    import held_memory
    import inspection_plan
    import journal_rates
    import learning_speed
    import mark_rates
    import performance_page
    import pitch_accuracy
    import pitch_peers
    import pitch_real_notes
    import price_coverage
    import price_peer
    import redate
    import response_peer
    import whole_commands
    from results import Result, write_table

    parts: tuple[tuple[str, Callable[[], Iterator[Result]]], ...] = (
        ("dating engine", dating_speed.engine),
        ("dating under openings", dating_speed.openings),
        ("pgmpy", dating_speed.elimination),
        ("PyMC", dating_speed.sampling),
        ("next inspection", inspection_plan.measure),
        ("learning", learning_speed.measure),
        ("redating", redate.measure),
        ("heelstamp date", whole_commands.dating),
        ("demo and report", whole_commands.demonstration),
        ("memory of a server", held_memory.measure),
        ("journal", journal_rates.journals),
        ("copies", copy_guesses.measure),
        ("marks", mark_rates.marks),
        ("pages", bench_pages.measure),
        ("press to paint", bench_paint.measure),
        ("prices", price_coverage.measure),
        ("prices, PyMC", price_peer.measure),
        ("registration", finish_registration.measure),
        ("control noise", crackle_accuracy.takes),
        ("pickup response", response_peer.responses),
        ("pitch", pitch_accuracy.measure),
        ("pitch peers", pitch_peers.measure),
        ("recorded notes", pitch_real_notes.measure),
    )
    names = [name for name, _ in parts]
    unknown = [one for one in asked if one not in names]
    if unknown:
        print(f"no such part: {', '.join(unknown)}. Parts: {', '.join(names)}.")
        return 2
    print(machine(), flush=True)
    measured: dict[str, list[Result]] = {}
    for name, measure in parts:
        if asked and name not in asked:
            continue
        results = measured[name] = []
        run = f"{machine()}; {datetime.now(UTC):%Y-%m-%d}"
        try:
            results += measure()
        except ModuleNotFoundError:
            results.append(
                Result(name, None, "", beside="peer not installed: make bench installs it")
            )
        except Exception as error:  # noqa: BLE001 - one figure must not keep the others back
            why = f"{type(error).__name__}: {error}".splitlines()[0]
            results.append(Result(name, None, "", beside=why))
        performance_page.renew({name: results}, run, names)
    print(write_table([one for results in measured.values() for one in results]))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
