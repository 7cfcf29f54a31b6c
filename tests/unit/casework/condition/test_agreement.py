"""Agreement of two graders, held against statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.inter_rater import cohens_kappa

from heelstamp.casework.condition.grading import agreement
from heelstamp.errors import InputError

LETTERS = "ABCDE"


@pytest.mark.parametrize("seed", range(12))
def test_kappa_and_its_error_are_those_of_statsmodels(seed: int) -> None:
    # statsmodels.stats.inter_rater.cohens_kappa, weights "linear" (Fleiss, Cohen, Everitt 1969)
    draw = np.random.default_rng(seed)
    first = draw.integers(0, 5, 40)
    second = np.clip(first + draw.integers(-2, 3, 40), 0, 4)
    table = np.zeros((5, 5))
    np.add.at(table, (first, second), 1)
    theirs = cohens_kappa(table, weights=np.arange(5), wt="linear")
    ours = agreement((LETTERS[a], LETTERS[b]) for a, b in zip(first, second, strict=True))
    assert ours.kappa == pytest.approx(theirs.kappa, abs=1e-12)
    assert ours.uncertainty == pytest.approx(theirs.std_kappa, abs=1e-12)
    assert ours.pairs == 40
    assert ours.within_one == pytest.approx(np.mean(abs(first - second) <= 1))


def test_one_letter_throughout_has_no_kappa() -> None:
    found = agreement([("B", "B")] * 5)
    assert (found.same, found.kappa) == (1.0, None)


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(InputError, match="two people"):
        agreement([])
    with pytest.raises(InputError, match="not a grade"):
        agreement([("A", "F")])
