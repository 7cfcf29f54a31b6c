"""The Pareto front by its definition."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from heelstamp.dating import pareto_front

FIGURES = st.integers(1, 12).flatmap(
    lambda n: st.tuples(
        arrays(float, (n, 3), elements=st.integers(0, 4).map(float)),
        arrays(float, (n, 2), elements=st.integers(0, 3).map(float)),
    )
)


def beats(a: int, b: int, gains: np.ndarray, costs: np.ndarray) -> bool:
    as_good = (gains[a] >= gains[b]).all() and (costs[a] <= costs[b]).all()
    return bool(as_good and ((gains[a] > gains[b]).any() or (costs[a] < costs[b]).any()))


@given(FIGURES)
def test_exactly_the_unbeaten_stand_on_the_front(figures) -> None:
    gains, costs = figures
    front = pareto_front(gains, costs)
    for one in range(len(gains)):
        beaten = any(beats(other, one, gains, costs) for other in range(len(gains)))
        assert (one in front) != beaten


@given(FIGURES)
def test_whatever_is_beaten_is_beaten_by_one_of_the_front(figures) -> None:
    gains, costs = figures
    front = pareto_front(gains, costs)
    assert front
    for one in set(range(len(gains))) - set(front):
        assert any(beats(other, one, gains, costs) for other in front)


@given(FIGURES, st.randoms(use_true_random=False))
def test_the_order_of_the_choices_does_not_matter(figures, random) -> None:
    gains, costs = figures
    order = list(range(len(gains)))
    random.shuffle(order)
    moved = pareto_front(gains[order], costs[order])
    assert sorted(order[place] for place in moved) == list(pareto_front(gains, costs))


def test_equal_choices_stay_side_by_side() -> None:
    assert pareto_front(np.ones((2, 1)), np.ones((2, 1))) == (0, 1)
