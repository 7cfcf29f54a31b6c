"""Playing wear: planted grooves found, an even board without wear, and what cannot be told."""

from __future__ import annotations

import numpy as np
import pytest

from heelstamp.mechanics.estimate import Estimate
from heelstamp.mechanics.fret_wear import fret_wear, wire_word

STRINGS = (1, 3, 6)


def board(planted: dict[tuple[int, int], float], seed: int = 0, error: float = 0.02):  # type: ignore[no-untyped-def]
    """Crowns of 1.05 mm, lower where *planted*, read with a normal error."""
    drawn = np.random.default_rng(seed)
    return {
        (string, fret): Estimate.of(
            1.05 - planted.get((string, fret), 0.0) + float(drawn.normal(0, error)),
            error,
            f"{string}.{fret}",
        )
        for string in STRINGS
        for fret in range(1, 22)
    }


def test_planted_grooves_are_found_with_their_depth() -> None:
    planted = {(1, 2): 0.20, (1, 3): 0.15, (3, 2): 0.12}
    found = fret_wear(board(planted))
    assert found is not None
    worn = {(one.string, one.fret) for one in found.crowns if one.worn}
    assert set(planted) <= worn
    assert found.deepest is not None
    assert (found.deepest.string, found.deepest.fret) == (1, 2)
    assert found.deepest.loss_mm.value == pytest.approx(0.20, abs=0.05)
    name, count, read = found.zones[0]
    assert name == "first position"
    assert count >= 3
    assert read == 12


def test_an_even_board_is_called_worn_no_oftener_than_its_reach_allows() -> None:
    # one side of a 90 % interval: 5 % of the crowns, less those that make the level
    worn = read = 0
    for seed in range(40):
        found = fret_wear(board({}, seed))
        assert found is not None
        worn += sum(one.worn for one in found.crowns if one.fret < 13)
        read += sum(one.fret < 13 for one in found.crowns)
    assert 0.02 < worn / read < 0.08


def test_without_upper_frets_nothing_is_said() -> None:
    low = {key: one for key, one in board({}).items() if key[1] < 13}
    assert fret_wear(low) is None
    assert fret_wear({}) is None


@pytest.mark.parametrize(
    ("widths", "word"), [((1.9, 2.0), "narrow"), ((2.1, 2.3), "medium"), ((2.6, 2.8), "wide")]
)
def test_wire_is_named_by_its_width(widths: tuple[float, float], word: str) -> None:
    assert wire_word(*widths) == word
    assert wire_word(1.9, 2.7) == ""
