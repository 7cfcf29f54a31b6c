"""A process killed at any thing it asks of the machine loses nothing and leaves nothing half."""

from pathlib import Path

import numpy as np
import pytest

from fakes.kills import ACTS, faults_after, prepare, run_killed

EACH = 2
"""Kills of each act in the suite; `benchmarks/kills.py` runs hundreds."""


@pytest.mark.parametrize("act", ACTS)
def test_what_a_kill_leaves(act: str, tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    whole.mkdir()
    prepare(act, whole)
    _, total = run_killed(act, whole, 0)
    assert total
    assert faults_after(act, whole, []) == []
    random = np.random.default_rng(ACTS.index(act))
    for number, nth in enumerate(random.integers(1, total, size=EACH)):
        place = tmp_path / str(number)
        place.mkdir()
        prepare(act, place)
        acknowledged, lived = run_killed(act, place, int(nth))
        assert lived is None, "it was not killed"
        assert faults_after(act, place, acknowledged) == [], f"killed at {nth} of {total}"
