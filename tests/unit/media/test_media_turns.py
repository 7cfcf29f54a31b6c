"""One turn at a time: in a process, among processes, and after one that was killed in its turn."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from heelstamp.media.turns import Turns

HOLDS = """
import sys, time
from pathlib import Path
from heelstamp.media.turns import Turns
with Turns(Path(sys.argv[1])).waited_for(60):
    print("mine", flush=True)
    time.sleep(600)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="the system has no flock")
def test_another_process_has_its_turn_first_and_a_killed_one_lets_go(tmp_path: Path) -> None:
    place = tmp_path / "turns" / "reading.lock"
    with subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(place)], stdout=subprocess.PIPE, text=True
    ) as other:
        try:
            assert other.stdout is not None
            assert other.stdout.readline() == "mine\n"
            mine = Turns(place)
            with pytest.raises(TimeoutError), mine.waited_for(0.05):
                pass
        finally:
            other.kill()
            other.wait()
        with mine.waited_for(60):
            pass


def test_a_folder_that_others_may_write_is_not_trusted(tmp_path: Path) -> None:
    folder = tmp_path / "turns"
    folder.mkdir()
    folder.chmod(0o777)
    with Turns(folder / "reading.lock").waited_for(1):
        assert list(folder.iterdir()) == []


def test_turns_of_one_process(tmp_path: Path) -> None:
    for turns in (Turns(), Turns(tmp_path / "turns" / "lock")):
        with turns.waited_for(1), pytest.raises(TimeoutError), turns.waited_for(0.01):
            pass
        with turns.waited_for(1):
            pass
