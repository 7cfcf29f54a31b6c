"""Several processes write to one dossier: none is refused, no entry is lost or comes twice."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from fakes.web_shop import TAG, bench_of, make_shop, state_in
from heelstamp.casework.dossier import entries_of
from heelstamp.shop import open_shop

WRITERS, EACH = 8, 15
PROCESS = Path(__file__).parents[1] / "fakes" / "appending_process.py"


def started(shop: Path, name: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(PROCESS), str(shop), TAG, name, str(EACH)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ,
    )


def told(writers: list[subprocess.Popen[str]]) -> list[str]:
    """Let all begin at once, and give what each that failed said."""
    for one in writers:
        assert one.stdout is not None
        assert one.stdout.readline() == "ready\n"
    for one in writers:
        assert one.stdin is not None
        one.stdin.write("\n")
        one.stdin.flush()
    failed = []
    for one in writers:
        out, err = one.communicate()
        if one.returncode or "done" not in out:
            failed.append(err)
    return failed


def test_eight_processes_enter_side_by_side(tmp_path: Path) -> None:
    shop = make_shop(tmp_path)
    assert told([started(shop, f"w{number}") for number in range(WRITERS)]) == []
    with open_shop(shop) as opened:
        kept = [one.body.get("id") for one in entries_of(opened, TAG)]
    wanted = {f"w{writer}-{number}" for writer in range(WRITERS) for number in range(EACH)}
    assert len(kept) == 1 + WRITERS * EACH
    assert set(kept[1:]) == wanted


def test_a_command_beside_a_busy_bench_is_not_refused(tmp_path: Path) -> None:
    shop = make_shop(tmp_path)
    with bench_of(shop) as bench:
        command = started(shop, "command")
        assert command.stdout is not None
        assert command.stdin is not None
        assert command.stdout.readline() == "ready\n"
        command.stdin.write("\n")
        command.stdin.flush()
        for number in range(EACH):
            mark = {"part": "neck", "text": f"{number}", "id": f"bench-{number}"}
            assert bench.post(f"/dossier/{TAG}/mark", data=mark).status_code in (200, 303)
        _, err = command.communicate()
        assert command.returncode == 0, err
        assert len(state_in(bench).observations) == 2 * EACH
