"""Neighbours whose marks lie apart: the accounts add up, and each is what holding states gives."""

from dataclasses import replace

import numpy as np
import pytest

from fakes.pots_model import mark, pots_model
from fakes.wherry_openings import compiled_openings, looks
from heelstamp.dating import CompiledModel, Evidence, infer
from heelstamp.dating.paired_states import Neighbours, neighbours_apart, paired_states

COMPILED = CompiledModel(pots_model(0.8))
APART: Evidence = (
    mark("body", "1966-02"),
    mark("neck", "1965-02"),
    mark("pot_1", "1965-05"),
    mark("pot_2", "1965-11"),
)


def test_only_neighbours_far_enough_apart_are_found() -> None:
    """Neck and pots lie in different assemblies; the pots in one, six months apart."""
    assert neighbours_apart(COMPILED, APART) == (Neighbours("pot_1", "pot_2", 6),)
    near = (*APART[:3], mark("pot_2", "1965-07"))
    assert neighbours_apart(COMPILED, near) == ()


def test_the_accounts_add_to_one_and_agree_with_the_single_states() -> None:
    (pair,) = neighbours_apart(COMPILED, APART)
    accounts = paired_states(COMPILED, APART, pair)
    posterior = infer(COMPILED, APART)
    assert sum(one.probability for one in accounts) == pytest.approx(1, abs=1e-12)
    for place, part in enumerate((pair.older, pair.younger)):
        built = sum(one.probability for one in accounts if one.built[place])
        assert built == pytest.approx(float(posterior.states[part][0, 0]), abs=1e-9)
    mixed = sum(one.probability * one.months for one in accounts)
    assert np.abs(mixed - posterior.months[0]).sum() < 1e-9
    assert [one.probability for one in accounts] == sorted(
        (one.probability for one in accounts), reverse=True
    )


def test_of_several_marks_the_youngest_counts_and_of_a_mark_the_likelier_reading() -> None:
    again = (*APART, mark("pot_1", "1965-10"))
    assert neighbours_apart(COMPILED, again) == ()
    open_ = replace(mark("pot_2", "1965-06", "1969-11"))
    assert neighbours_apart(COMPILED, (*APART[:3], open_)) == ()


def test_the_two_pots_of_the_invented_guitar_with_openings() -> None:
    """Figures of the model's own account: both first .989, the volume pot replaced .008."""
    compiled, evidence = compiled_openings(), looks()
    found = {(one.older, one.younger): one for one in neighbours_apart(compiled, evidence)}
    pair = found["pot_tone", "pot_volume"]
    accounts = {one.built: one.probability for one in paired_states(compiled, evidence, pair)}
    assert accounts[True, True] == pytest.approx(0.989, abs=0.002)
    assert accounts[True, False] == pytest.approx(0.008, abs=0.002)
    assert accounts[False, True] == pytest.approx(0.003, abs=0.002)
