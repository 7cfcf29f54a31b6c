"""Joint gains against separate computations of every outcome; drawn bundles against exact ones."""

import itertools
import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.pots_model import mark, pots_model
from fakes.random_dating import random_evidence, random_model
from heelstamp.dating import (
    CompiledModel,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Inspection,
    Look,
    Posterior,
    cells_around,
    entropy_bits,
    expected_after,
    expected_gains,
    feature_outcomes,
    infer,
    mark_outcomes,
    products_of,
    serial_outcomes,
    sign_outcomes,
)
from heelstamp.units import MonthGrid, Period, parse_month

BITS = 1e-4
"""Greatest deviation of a gain that the goals allow; what is reached is printed."""

MODEL = pots_model(0.8)
COMPILED = CompiledModel(MODEL)
SEEN: Evidence = (mark("neck", "1964-11"), FeatureSeen("dots", "pearl"))


def entropies(posterior: Posterior, rows) -> np.ndarray:
    """Entropy of the month, of the neck and of the first pot, and the width of the 90 % range."""
    reached = np.cumsum(posterior.months, axis=1)
    ends = [(reached >= level - 1e-12).argmax(axis=1) for level in (0.05, 0.95)]
    return np.stack(
        [
            entropy_bits(posterior.months),
            entropy_bits(posterior.states["neck"]),
            entropy_bits(posterior.states["pot_1"]),
            ends[1] - ends[0],
        ],
        axis=1,
    )


def plain_entropy(p) -> float:
    return -sum(one * math.log2(one) for one in p if one > 0)


def by_hand(evidence: Evidence, looks) -> np.ndarray:
    """The expectation by separate inferences, one a product of outcomes, entropies written out."""
    base = infer(MODEL, evidence).log_evidence[0]
    total = np.zeros(3)
    mass = 0.0
    choices = []
    for look in looks:
        read = [(look.readable, one) for one in look.outcomes]
        choices.append([*read, (1 - look.readable, ())])
    for chosen in itertools.product(*choices):
        share = math.prod(one for one, _ in chosen)
        if share == 0:
            continue
        row = (*evidence, *(one for _, outcome in chosen for one in outcome))
        posterior = infer(MODEL, row)
        p = share * math.exp(posterior.log_evidence[0] - base)
        mass += p
        total += p * np.array(
            [
                plain_entropy(posterior.months[0]),
                plain_entropy(posterior.states["neck"][0]),
                plain_entropy(posterior.states["pot_1"][0]),
            ]
        )
    assert mass == pytest.approx(1, abs=1e-9)
    return total


def single(outcomes) -> tuple[Evidence, ...]:
    return tuple((one,) for one in outcomes)


def coarse(part: str, readable: float = 1.0) -> Look:
    """A mark by half years about 1965."""
    likely = Period(parse_month("1963-01"), parse_month("1966-12"))
    cells = cells_around(MODEL.marks, likely, 8)
    return Look(part, single(mark_outcomes(MODEL, part, 0.01, cells)), readable)


FIT = Look("fit", single(sign_outcomes(MODEL, "fit")), 0.9)
JOINTS = Look("joints", single(sign_outcomes(MODEL, "joints")))
DOTS = Look("dots", single(feature_outcomes(MODEL, "dots")), 0.7)
FELT = Look("felt", single(feature_outcomes(MODEL, "felt")))


@pytest.mark.parametrize(
    "looks",
    [
        [FIT],
        [coarse("pot_1", 0.8)],
        [JOINTS, FIT],
        [coarse("pot_1"), JOINTS],
        [coarse("pot_1", 0.85), coarse("pot_2", 0.85)],
        [JOINTS, FIT, FELT],
    ],
    ids=lambda looks: "+".join(look.name for look in looks),
)
def test_exact_bundles_agree_with_every_product_computed_apart(looks) -> None:
    (found,) = expected_after(COMPILED, SEEN, [looks], entropies)
    deviation = np.abs(found.values[:3] - by_hand(SEEN, looks)).max()
    print(f"worst deviation {deviation:.1e} bit")  # noqa: T201 - for -s
    assert deviation < BITS
    assert found.error is None
    assert found.rows == products_of(looks)


def test_a_bundle_of_one_gives_the_single_gain() -> None:
    inspections = [
        Inspection("fit", sign_outcomes(MODEL, "fit"), 0.9),
        Inspection("pot", mark_outcomes(MODEL, "pot_1", 0.01), 0.7),
        Inspection("number", serial_outcomes(MODEL)),
    ]
    now = entropies(infer(COMPILED, SEEN), [SEEN])[0]
    single_gains = expected_gains(COMPILED, SEEN, inspections, ["neck", "pot_1"])
    found = expected_after(COMPILED, SEEN, [[Look.of(one)] for one in inspections], entropies)
    for gain, one in zip(single_gains, found, strict=True):
        assert now[0] - one.values[0] == pytest.approx(gain.date_bits, abs=1e-12)
        assert now[1] - one.values[1] == pytest.approx(gain.part_bits["neck"], abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_random_models_and_bundles_of_two(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = random_evidence(rng, model)
    seen = {one.feature for one in evidence if isinstance(one, FeatureSeen)}
    looks = [
        Look(one.name, single(feature_outcomes(model, one.name)), float(rng.uniform(0.5, 1)))
        for one in model.features
        if one.name not in seen
    ] + [Look(one.name, single(sign_outcomes(model, one.name))) for one in model.signs]
    looks = looks[:2]
    if not looks:
        return
    compiled = CompiledModel(model)

    def measure(posterior: Posterior, rows) -> np.ndarray:
        return entropy_bits(posterior.months)[:, None]

    (found,) = expected_after(compiled, evidence, [looks], measure)
    base = infer(model, evidence).log_evidence[0]
    wanted = 0.0
    choices = [[*((k.readable, o) for o in k.outcomes), (1 - k.readable, ())] for k in looks]
    for chosen in itertools.product(*choices):
        row = (*evidence, *(one for _, outcome in chosen for one in outcome))
        posterior = infer(model, row)
        share = math.prod(one for one, _ in chosen)
        p = share * math.exp(posterior.log_evidence[0] - base)
        wanted += p * plain_entropy(posterior.months[0])
    assert found.values[0] == pytest.approx(wanted, abs=BITS), f"seed {seed}"
    # looking never makes one less sure, on average
    assert found.values[0] <= plain_entropy(infer(model, evidence).months[0]) + 1e-9


def test_a_joint_gain_is_at_least_each_of_its_parts() -> None:
    pair = [coarse("pot_1"), coarse("pot_2")]
    now = entropies(infer(COMPILED, SEEN), [SEEN])[0]
    both, first, second = expected_after(COMPILED, SEEN, [pair, pair[:1], pair[1:]], entropies)
    gains = [now[0] - one.values[0] for one in (both, first, second)]
    assert gains[0] > max(gains[1:]) + 0.01
    # pots of one lot: the second code tells less than the first did
    assert gains[0] < sum(gains[1:])


DRAWN = [coarse("pot_1", 0.9), coarse("pot_2", 0.9), JOINTS, FIT]


@cache
def enumerated() -> np.ndarray:
    assert products_of(DRAWN) < 20_000
    (exact,) = expected_after(COMPILED, SEEN, [DRAWN], entropies)
    assert exact.error is None
    return exact.values


@pytest.mark.parametrize("seed", range(6))
def test_drawn_bundles_agree_with_exact_ones_within_four_standard_errors(seed: int) -> None:
    (drawn,) = expected_after(
        COMPILED,
        SEEN,
        [DRAWN],
        entropies,
        generator=np.random.default_rng(seed),
        most=100,
        draws=200,
    )
    assert drawn.error is not None
    assert (drawn.error > 0).all()
    off = np.abs(drawn.values - enumerated()) / drawn.error
    print(f"seed {seed}: {off.max():.2f} standard errors")  # noqa: T201 - for -s
    assert (off < 4).all(), f"seed {seed}"


def test_draws_share_their_prefixes_and_repeat_with_their_generator() -> None:
    looks = [coarse("pot_1"), JOINTS, FIT]
    rows: list[int] = []

    def measure(posterior: Posterior, block) -> np.ndarray:
        rows.append(len(block))
        return entropy_bits(posterior.months)[:, None]

    found = [
        expected_after(
            COMPILED, SEEN, [looks], measure, generator=np.random.default_rng(7), most=1, draws=500
        )[0]
        for _ in range(2)
    ]
    assert found[0].values == found[1].values
    # the last look is summed for at most 2 x 3 prefixes, however many draws there are
    assert found[0].rows <= 6 * len(looks[0].branches)
    assert sum(rows) == 2 * found[0].rows


def test_draws_need_a_generator() -> None:
    with pytest.raises(EvidenceError, match="random generator"):
        expected_after(COMPILED, SEEN, [[JOINTS, FIT]], entropies, most=2)


@pytest.mark.parametrize("most", [1, 20_000])
def test_outcomes_that_leave_something_out_are_refused(most: int) -> None:
    gap = Look("fit", FIT.outcomes[:1])
    with pytest.raises(EvidenceError, match="do not add up"):
        expected_after(
            COMPILED,
            SEEN,
            [[gap, JOINTS]],
            entropies,
            generator=np.random.default_rng(1),
            most=most,
        )


def test_what_can_never_be_read_tells_nothing() -> None:
    now = entropies(infer(COMPILED, SEEN), [SEEN])[0]
    (found,) = expected_after(COMPILED, SEEN, [[Look("x", FIT.outcomes, 0.0)]], entropies)
    assert found.values == pytest.approx(now, abs=1e-12)
    with pytest.raises(EvidenceError, match="legibility"):
        Look("x", FIT.outcomes, 1.5)


@settings(deadline=None)
@given(st.integers(0, 300), st.integers(-60, 400), st.integers(0, 400), st.integers(1, 60))
def test_cells_are_the_grid_without_gap_or_overlap(
    length: int, begin: int, width: int, most: int
) -> None:
    grid = MonthGrid(12 * 1950, 12 * 1950 + length)
    cells = cells_around(grid, Period(grid.first + begin, grid.first + begin + width), most)
    covered = [month for one in cells for month in range(one.first, one.last + 1)]
    assert covered == list(grid)
    assert len(cells) <= most + 2 * 4 + 2


def test_finer_cells_tell_more_and_each_cutting_adds_up() -> None:
    likely = Period(parse_month("1963-01"), parse_month("1966-12"))
    gains = []
    for most in (4, 16, 48):
        outcomes = mark_outcomes(MODEL, "pot_1", 0.01, cells_around(MODEL.marks, likely, most))
        (gain,) = expected_gains(COMPILED, SEEN, [Inspection("pot", outcomes)])
        gains.append(gain.date_bits)
    assert gains == sorted(gains)
    assert gains[2] > gains[0] + 0.02
