"""Scale length from two frets, and misplaced frets on simulated boards with fresh seeds."""

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.fret_fit import FretReading, fit_board
from heelstamp.mechanics.frets import FretRule, fret_place

SEED = 20_261_126
"""On which nothing was tuned; the same at each run, so that a failure can be repeated."""

ERROR_MM = 0.1


def board(rng, *, scale=641.4, rule=FretRule.EQUAL, moved=None, zero=0.0, error=ERROR_MM):
    moved = moved or {}
    return tuple(
        FretReading(
            fret,
            zero
            + fret_place(scale, fret, rule)
            + moved.get(fret, 0.0)
            + error * rng.standard_normal(),
            ERROR_MM,
        )
        for fret in range(22)
    )


def test_sound_boards_are_rarely_called_faulty_and_the_scale_is_honest():
    seed = SEED
    rng = np.random.default_rng(seed)
    false, held = 0, 0
    for _ in range(150):
        best = next(one for one in fit_board(board(rng, zero=12.0)) if one.rule is FretRule.EQUAL)
        false += bool(best.misplaced)
        low, high = best.scale_mm.interval()
        held += low <= 641.4 <= high
    assert false <= 8, f"seed {seed}: {false} of 150 sound boards called faulty"
    assert 0.82 <= held / 150 <= 0.97, f"seed {seed}: {held} of 150"


def test_misplaced_frets_are_named_with_how_far():
    seed = SEED
    rng = np.random.default_rng(seed)
    found, off, pulls = 0, [], []
    for _ in range(60):
        best = fit_board(board(rng, moved={9: 0.8, 17: -0.6}))[0]
        named = {one.fret: one for one in best.misplaced}
        found += {9, 17} <= set(named)
        if 9 in named:
            off.append(named[9].off_mm.value)
            pulls.append((named[9].off_mm.value - 0.8) / named[9].off_mm.uncertainty)
    assert found >= 56, f"seed {seed}: {found} of 60"
    assert np.mean(off) == pytest.approx(0.8, abs=0.06), f"seed {seed}"
    assert 0.7 < np.std(pulls) < 1.35, f"seed {seed}"


def test_a_third_of_the_frets_may_be_wrong():
    rng = np.random.default_rng(11)
    moved = dict.fromkeys((2, 5, 7, 10, 13, 16, 19), 1.5)
    best = fit_board(board(rng, moved=moved))[0]
    assert {one.fret for one in best.misplaced} == set(moved)
    assert best.fits


def test_a_slipped_nut_is_the_nut():
    rng = np.random.default_rng(1)
    best = fit_board(board(rng, moved={0: 0.9}))[0]
    assert best.rule is FretRule.EQUAL
    assert [one.fret for one in best.misplaced] == [0]


@pytest.mark.parametrize("rule", [FretRule.EQUAL, FretRule.EIGHTEEN])
def test_the_rule_is_told(rule):
    fits = fit_board(board(np.random.default_rng(5), rule=rule))
    assert fits[0].fits
    wrong = FretRule.EIGHTEEN if rule is FretRule.EQUAL else FretRule.EQUAL
    other = next(one for one in fits if one.rule is wrong)
    assert not other.fits or other.misplaced


def test_an_understated_error_is_not_decided():
    fits = fit_board(board(np.random.default_rng(8), error=0.5))
    assert not any(one.fits and not one.misplaced for one in fits)


def test_refusals():
    few = board(np.random.default_rng(1))[:4]
    with pytest.raises(InputError, match="at least 5"):
        fit_board(few)
    twice = (*board(np.random.default_rng(1)), FretReading(3, 100.0, 0.1))
    with pytest.raises(InputError, match="different frets"):
        fit_board(twice)
    with pytest.raises(InputError, match="reading error"):
        fit_board(tuple(FretReading(f, fret_place(641.4, f), 0.0) for f in range(6)))
