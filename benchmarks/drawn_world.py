"""The project's own simulator as one of the families, one UV frame a body.

``tests/fakes/finish_simulator.py``: one or two lamps by inverse squares with a hot spot, a rounded
rim, dirt, JPEG. Its lamp cannot be moved: the light is in the pair once it is drawn.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from finish_world import World

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.finish_shapes import RESERVED_STYLES, TUNING_STYLES
from fakes.finish_simulator import simulate

NUISANCES = ("plain", "shadow", "all")
LEVEL = {"plain": "easy", "shadow": "medium", "all": "hard"}
WIDTH = 1100


def make(seed: int, nuisance: str, *, defects: bool, tuning: bool = False) -> World:
    """Draw a body; *tuning* takes the styles that settings were chosen on."""
    rng = np.random.default_rng([seed, 77])
    pair = simulate(
        seed,
        difficulty=LEVEL[nuisance],
        style=str(rng.choice(TUNING_STYLES if tuning else RESERVED_STYLES)),
        clean=not defects,
        width=WIDTH,
    )
    kinds = [""] * max((one.label for one in pair.defects), default=0)
    for one in pair.defects:
        kinds[one.label - 1] = one.kind
    return World(
        pair.visible,
        [pair.uv],
        [float("nan")],
        pair.outline,
        list(pair.parts),
        pair.grey,
        pair.labels,
        pair.px_per_mm,
        kinds,
        [pair.transform],
    )
