"""What must hold of any posterior, whatever the tables: bounds, orders, lots, rows, refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.pots_model import COMPLETION, MARKS, POTS, mark, pots_model
from fakes.random_dating import random_evidence, random_model
from heelstamp.dating import (
    Batch,
    Document,
    Evidence,
    EvidenceError,
    Feature,
    FeatureSeen,
    Mark,
    ModelError,
    MonthLikelihood,
    Observation,
    Reading,
    SerialNumber,
    Sign,
    SignSeen,
    StateLikelihood,
    Transition,
    central_interval,
    entropy_bits,
    infer,
    infer_many,
    log_evidence_many,
)
from heelstamp.units import Period, parse_month

MODEL = pots_model()
SEEDED = settings(max_examples=25, deadline=None, derandomize=True, database=None)

CONTRARY: dict[str, tuple[Observation, float]] = {
    "mark": (mark("neck", "1955-02", error=0.01), 0.99 / (0.01 / len(MARKS)) + 1),
    "mark later than all": (mark("body", "1988-01"), 0.99 / (0.01 / len(MARKS)) + 1),
    "range": (
        Mark("neck", (Reading(Period.parse(["1930-01", "1956-01"]), 1.0),), 0.01),
        0.99 / (0.01 * 73 / len(MARKS)) + 1,
    ),
    "feature": (FeatureSeen("dots", "clay"), 0.99 / (0.01 / 4) + 1),
    "variant no factory fitted": (FeatureSeen("dots", "other"), 0.99 / (0.01 / 4) + 1),
    "passing": (FeatureSeen("felt", "green"), 0.99 / (0.01 / 2) + 1),
    "serial": (SerialNumber(((parse_month("1955-01"), 1.0),)), 0.99 / (0.01 / len(COMPLETION)) + 1),
    "sign": (SignSeen("fit", "not"), 0.99 / (0.01 / 2) + 1),
    "document": (Document(Period.parse("1955-03"), 0.9), 0.9 / (0.1 / len(COMPLETION)) + 1),
}


@pytest.mark.parametrize("name", CONTRARY)
def test_one_observation_rules_nothing_out(name: str) -> None:
    """Likelihood ratios stay below (1 - e) max / (e floor) + 1, so no hypothesis dies."""
    seen, bound = CONTRARY[name]
    before, after = infer(MODEL, ()), infer(MODEL, (seen,))
    ratio = after.months[0] / before.months[0]
    assert ratio.min() > 0
    assert ratio.max() / ratio.min() <= bound * (1 + 1e-9)
    for part in MODEL.parts:
        prior = before.states[part.name][0]
        assert (after.states[part.name][0][prior > 0] > 0).all()
    assert (after.disturbed[0][1:] > 0).all()
    assert (after.history > 0).all()


def test_the_floor_follows_the_size_of_the_reading() -> None:
    """A mark that could be read as any month is no evidence at all, however wrong."""
    anything = Mark("neck", (Reading(Period(MARKS.first, MARKS.last), 0.3),), 0.01)
    assert infer(MODEL, (anything,)).months[0] == pytest.approx(MODEL.prior, abs=1e-12)


def test_weights_are_likelihoods() -> None:
    """A common factor on all readings changes the evidence and nothing else."""
    one = infer(MODEL, (mark("neck", "1963-02", "1965-02", weight=1.0),))
    other = infer(MODEL, (mark("neck", "1963-02", "1965-02", weight=0.25),))
    assert other.months == pytest.approx(one.months, abs=1e-14)
    assert one.log_evidence[0] - other.log_evidence[0] == pytest.approx(math.log(4))


ORIGINAL = tuple(StateLikelihood(pot, {"original": 1.0, "later_replacement": 1e-9}) for pot in POTS)
"""Pots known to be the first ones, so that only their marks speak of the date."""


def posterior_of(pots: int, share: float, known: Evidence = ()) -> np.ndarray:
    seen = tuple(mark(pot, "1963-05") for pot in POTS[:pots])
    return infer(pots_model(share), (*seen, *known)).months[0]


def ends(months: np.ndarray) -> tuple[int, int]:
    interval = central_interval(months, COMPLETION, 0.9)
    return interval.first, interval.last


def test_three_equal_pots_of_one_lot_count_nearly_once() -> None:
    one, three = posterior_of(1, 1.0, ORIGINAL), posterior_of(3, 1.0, ORIGINAL)
    assert np.abs(one - three).sum() / 2 < 0.01
    for found, wanted in zip(ends(three), ends(one), strict=True):
        assert abs(found - wanted) <= 1


def test_pots_of_one_lot_never_say_more_than_separate_ones() -> None:
    """Their range holds that of pots bought apart, and is much wider."""
    together, apart = posterior_of(3, 1.0), posterior_of(3, 0.0)
    (low, high), (inner_low, inner_high) = ends(together), ends(apart)
    assert low <= inner_low <= inner_high <= high
    assert high - low >= 2 * (inner_high - inner_low)
    assert entropy_bits(together) > entropy_bits(apart) + 0.5


def test_one_more_equal_pot_hardly_moves() -> None:
    two, three = posterior_of(2, 1.0), posterior_of(3, 1.0)
    moved = np.abs(two - three).sum() / 2
    moved_apart = np.abs(posterior_of(2, 0.0) - posterior_of(3, 0.0)).sum() / 2
    assert moved < 0.01
    assert moved_apart > 0.1


def test_share_of_lots_lies_between() -> None:
    bits = [float(entropy_bits(posterior_of(3, share, ORIGINAL))) for share in (0, 0.5, 0.8, 1)]
    assert bits == sorted(bits)


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_order_of_observations_says_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    seen = random_evidence(rng, model)
    other = tuple(seen[i] for i in rng.permutation(len(seen)))
    one, two = infer(model, seen), infer(model, other)
    assert two.months == pytest.approx(one.months, abs=1e-12)
    assert two.log_evidence == pytest.approx(one.log_evidence, abs=1e-10)
    for part in model.parts:
        assert two.states[part.name] == pytest.approx(one.states[part.name], abs=1e-12)


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_many_at_once_are_many_one_by_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    rows = [random_evidence(rng, model) for _ in range(20)]
    together = infer_many(model, rows)
    for place, row in enumerate(rows):
        alone = infer(model, row)
        assert together.log_evidence[place] == pytest.approx(alone.log_evidence[0], abs=1e-10)
        assert together.months[place] == pytest.approx(alone.months[0], abs=1e-12)
        assert together.disturbed[place] == pytest.approx(alone.disturbed[0], abs=1e-12)
        assert together.history[place] == pytest.approx(alone.history[0], abs=1e-12)
        for part in model.parts:
            assert together.states[part.name][place] == pytest.approx(
                alone.states[part.name][0], abs=1e-12
            )
    # without marginals the way is the same
    assert np.array_equal(log_evidence_many(model, rows), together.log_evidence)


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_everything_adds_to_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    found = infer(model, random_evidence(rng, model))
    for row in (found.months, found.history, *found.states.values()):
        assert row.sum() == pytest.approx(1, abs=1e-12)
        assert (row >= 0).all()
    assert ((found.disturbed >= 0) & (found.disturbed <= 1)).all()


def test_nothing_seen_gives_the_prior() -> None:
    found = infer(MODEL, ())
    assert found.log_evidence[0] == pytest.approx(0, abs=1e-12)
    assert found.months[0] == pytest.approx(MODEL.prior, abs=1e-15)
    assert found.history[0] == pytest.approx([0.7, 0.3])
    assert found.disturbed[0] == pytest.approx([0, 0.7 * 0.03 + 0.3 * 0.3, 0.7 * 0.1 + 0.3 * 0.6])
    neck = 0.7 * 0.03 + 0.3 * 0.3
    assert found.states["neck"][0, 0] == pytest.approx((1 - neck) * 0.97 + neck * 0.5)


@pytest.mark.parametrize(
    ("seen", "listed"),
    [
        (mark("pot_4", "1963-01"), "pot_1, pot_2, pot_3"),
        (FeatureSeen("board", "x"), "dots, felt"),
        (FeatureSeen("dots", "gold"), "clay, pearl, brass, other"),
        (SignSeen("smell", "x"), "fit, joints"),
        (SignSeen("fit", "perhaps"), "matched, not"),
        (StateLikelihood("pot_4", {"original": 1.0}), "body, neck, pot_1"),
        (StateLikelihood("neck", {"lost": 1.0}), "original, period_replacement"),
    ],
    ids=lambda one: type(one).__name__ if not isinstance(one, str) else "",
)
def test_an_unknown_name_is_answered_with_the_known_ones(seen: Observation, listed: str) -> None:
    with pytest.raises((EvidenceError, ModelError)) as refused:
        infer(MODEL, (seen,))
    assert listed in refused.value.remedy


@pytest.mark.parametrize(
    "make",
    [
        lambda: mark("neck"),
        lambda: mark("neck", "1963-01", weight=0.0),
        lambda: mark("neck", "1963-01", weight=1.5),
        lambda: mark("neck", "1963-01", error=0.0),
        lambda: SerialNumber(()),
        lambda: SerialNumber(((parse_month("1963-01"), 0.0),)),
        lambda: StateLikelihood("neck", {"original": 0.0}),
        lambda: StateLikelihood("neck", {}),
        lambda: Document(Period.parse("1963-01"), 1.0),
        lambda: Document(Period.parse("1963-01"), 0.0),
        lambda: infer(MODEL, (MonthLikelihood((1.0,)),)),
        lambda: infer(MODEL, (MonthLikelihood((0.0,) * len(COMPLETION)),)),
        lambda: infer(MODEL, (SerialNumber(((0, 1.0),)),) * 2),
        lambda: infer(MODEL, (FeatureSeen("dots", "clay"),) * 2),
        lambda: infer(replace(MODEL, serial=None), (SerialNumber(((0, 1.0),)),)),
    ],
)
def test_evidence_that_cannot_be_is_refused(make: object) -> None:
    with pytest.raises((EvidenceError, ModelError)):
        make()  # type: ignore[operator]


def test_a_serial_outside_the_grid_counts_at_its_end() -> None:
    far = infer(MODEL, (SerialNumber(((parse_month("1940-01"), 1.0),)),))
    end = infer(MODEL, (SerialNumber(((COMPLETION.first, 1.0),)),))
    assert far.months == pytest.approx(end.months, abs=1e-15)


def finite(found: object) -> bool:
    months, evidence = found.months, found.log_evidence  # type: ignore[attr-defined]
    return bool(np.isfinite(months).all() and np.isfinite(evidence).all())


def test_two_hundred_features_that_quarrel() -> None:
    """The evidence falls below the smallest double's logarithm without harm."""
    names = [part.name for part in MODEL.parts]
    features = tuple(
        Feature(
            f"f{i}",
            names[i % 5],
            ("a", "b"),
            (Transition(COMPLETION.first + 7 * i % 180, 1.0),),
            (0.5, 0.5),
        )
        for i in range(200)
    )
    found = infer(
        replace(MODEL, features=features),
        tuple(FeatureSeen(f"f{i}", "ab"[i % 2]) for i in range(200)),
    )
    assert finite(found)
    assert found.months.sum() == pytest.approx(1)


def test_two_hundred_signs_that_quarrel() -> None:
    signs = tuple(
        Sign(f"s{i}", ("k", "l"), ((0.9, 0.1), (0.1, 0.9)), assembly="electronics")
        for i in range(200)
    )
    found = infer(
        replace(MODEL, signs=signs), tuple(SignSeen(f"s{i}", "kl"[i % 2]) for i in range(200))
    )
    assert finite(found)
    assert found.log_evidence[0] < -200


FAR_TOO_MUCH: dict[str, Evidence] = {
    "marks": tuple(mark(POTS[i % 3], f"19{60 + i % 9}-05") for i in range(200)),
    "papers": tuple(Document(Period.parse(f"19{60 + i % 9}-05"), 0.9) for i in range(200)),
    "likelihoods": (StateLikelihood("neck", dict.fromkeys(MODEL.parts[1].states, 1e-3)),) * 200,
}


@pytest.mark.parametrize("name", FAR_TOO_MUCH)
def test_two_hundred_observations_at_one_place_are_refused(name: str) -> None:
    with pytest.raises(EvidenceError, match="no number"):
        infer(MODEL, FAR_TOO_MUCH[name])


def test_a_reading_outside_the_grid_is_refused_or_harmless() -> None:
    try:
        found = infer(MODEL, (mark("neck", "1890-01"),))
    except EvidenceError:
        return
    assert finite(found)


@pytest.mark.parametrize("lot", [(POTS, 1.5), (("pot_1", "pot_1"), 1.0)])
def test_a_lot_that_cannot_be_is_refused(lot: tuple[tuple[str, ...], float]) -> None:
    with pytest.raises(ModelError):
        replace(MODEL, batches=(Batch(*lot),))
