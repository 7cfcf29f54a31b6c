"""Leave-one-out, readings, surprise, expected gains and moments against their definitions."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.pots_model import COMPLETION, MARKS, mark, pots_model
from fakes.random_dating import random_evidence, random_model
from fakes.slow_dating import slow_moments
from heelstamp.dating import (
    SURPRISING,
    CompiledModel,
    Document,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Inspection,
    Mark,
    Observation,
    Reading,
    SerialNumber,
    SignSeen,
    StateLikelihood,
    additive_moments,
    entropy_bits,
    expected_gains,
    feature_outcomes,
    infer,
    leave_one_out,
    leave_out,
    mark_outcomes,
    reading_posteriors,
    serial_outcomes,
    sign_outcomes,
    surprises,
)
from heelstamp.units import Period, parse_month

COMPILED = CompiledModel(pots_model(0.8))
SEEN: Evidence = (
    mark("body", "1963-01"),
    mark("neck", "1963-03", "1963-08"),
    mark("pot_1", "1962-11"),
    FeatureSeen("dots", "pearl"),
    SignSeen("joints", "one"),
    Document(Period.parse(["1963-01", "1964-12"]), 0.8),
    StateLikelihood("neck", {"original": 1.0, "later_replacement": 0.2}),
    SerialNumber(((parse_month("1963-06"), 1.0),)),
)
SEEDED = settings(max_examples=15, deadline=None, derandomize=True, database=None)


def log_evidence(*seen: Observation) -> float:
    return float(infer(COMPILED, seen).log_evidence[0])


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_leave_one_out(seed: int) -> None:
    """P(observation | others) = Z / Z without it, and the total variation of the dates."""
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = random_evidence(rng, model)
    whole = infer(model, evidence)
    found = leave_one_out(CompiledModel(model), evidence)
    assert len(found) == len(evidence)
    for place, one in enumerate(found):
        rest = infer(model, (*evidence[:place], *evidence[place + 1 :]))
        assert math.log(one.predictive) == pytest.approx(
            whole.log_evidence[0] - rest.log_evidence[0], abs=1e-9
        )
        assert one.months == pytest.approx(rest.months[0], abs=1e-12)
        apart = np.abs(whole.months[0] - rest.months[0]).sum() / 2
        assert one.total_variation == pytest.approx(apart, abs=1e-12)


def test_leave_a_group_out() -> None:
    (found,) = leave_out(COMPILED, SEEN, [(0, 2, 5)])
    rest = tuple(SEEN[i] for i in (1, 3, 4, 6, 7))
    assert found.months == pytest.approx(infer(COMPILED, rest).months[0], abs=1e-12)


def test_readings_share_what_the_others_say() -> None:
    """P(reading | all) is the evidence with that reading alone, made to add to one."""
    found = reading_posteriors(COMPILED, SEEN, [1])[1]
    alone = [
        log_evidence(SEEN[0], mark("neck", month), *SEEN[2:]) for month in ("1963-03", "1963-08")
    ]
    wanted = np.exp(np.array(alone) - max(alone))
    assert found == pytest.approx(wanted / wanted.sum(), abs=1e-12)
    assert found.sum() == pytest.approx(1, abs=1e-12)


def test_a_reading_nothing_speaks_against_keeps_its_weight() -> None:
    month = Period.parse("1963-03")
    twice = Mark("neck", (Reading(month, 0.75), Reading(month, 0.25)))
    assert reading_posteriors(COMPILED, (twice,), [0])[0] == pytest.approx([0.75, 0.25])


def test_only_a_mark_has_readings() -> None:
    with pytest.raises(TypeError):
        reading_posteriors(COMPILED, SEEN, [3])


def test_surprise_lies_between_nought_and_one() -> None:
    found = surprises(COMPILED, SEEN)
    assert [one is None for one in found] == [False] * 5 + [True, True, False]
    assert all(0 <= one <= 1 for one in found if one is not None)
    assert all(one > SURPRISING for one in found if one is not None)


def test_surprise_of_a_feature_is_the_mid_p_of_its_variants() -> None:
    rest = (*SEEN[:3], *SEEN[4:])
    variants = ("clay", "pearl", "brass", "other")
    logs = np.array([log_evidence(*rest, FeatureSeen("dots", one)) for one in variants])
    p = np.exp(logs - logs.max())
    p /= p.sum()
    for place, variant in enumerate(variants):
        seen = (*rest, FeatureSeen("dots", variant))
        wanted = p[p < p[place]].sum() + p[place] / 2
        assert surprises(COMPILED, seen)[-1] == pytest.approx(wanted, abs=1e-9)


def test_what_does_not_fit_is_flagged() -> None:
    odd = (*SEEN[:3], FeatureSeen("dots", "brass"), *SEEN[4:])
    assert surprises(COMPILED, odd)[3] < SURPRISING
    far = (mark("body", "1957-01"), *SEEN[1:])
    assert surprises(COMPILED, far)[0] < SURPRISING
    number = (*SEEN[:7], SerialNumber(((parse_month("1957-06"), 1.0),)))
    assert surprises(COMPILED, number)[7] < surprises(COMPILED, SEEN)[7]


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_surprises_of_random_evidence(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = random_evidence(rng, model)
    found = surprises(CompiledModel(model), evidence)
    assert len(found) == len(evidence)
    assert all(0 <= one <= 1 for one in found if one is not None)


def test_nothing_seen_surprises_nobody() -> None:
    assert surprises(COMPILED, ()) == ()
    assert surprises(COMPILED, SEEN[5:7]) == (None, None)


LOOKS = {
    "dots": feature_outcomes(COMPILED.model, "dots"),
    "joints": sign_outcomes(COMPILED.model, "joints"),
    "mark on pot 1": mark_outcomes(COMPILED.model, "pot_1", 0.02),
    "number": serial_outcomes(COMPILED.model),
}


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("known", [(), SEEN[:2]], ids=["nothing known", "two marks"])
def test_outcomes_leave_nothing_out(name: str, known: Evidence) -> None:
    logs = [log_evidence(*known, one) for one in LOOKS[name]]
    assert np.exp(np.array(logs) - log_evidence(*known)).sum() == pytest.approx(1, abs=1e-9)


def test_marks_are_enumerated_by_year() -> None:
    assert len(LOOKS["mark on pot 1"]) == len(MARKS) // 12
    assert len(LOOKS["number"]) == len(COMPLETION) // 12


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("known", [(), SEEN[:3]], ids=["nothing known", "three marks"])
def test_gain_is_what_looking_again_and_again_gives(name: str, known: Evidence) -> None:
    """P(readable) [H - sum P(o) H(after o)], each outcome inferred by itself."""
    value = (np.linspace(9, 8, len(COMPLETION)), {"neck": (0.0, -0.2, -0.4, -0.3)})
    (gain,) = expected_gains(
        COMPILED, known, [Inspection(name, LOOKS[name], 0.6)], ("neck", "pot_2"), value
    )
    before = infer(COMPILED, known)
    date, neck, pot, spread = 0.0, 0.0, 0.0, 0.0
    for outcome in LOOKS[name]:
        after = infer(COMPILED, (*known, outcome))
        p = math.exp(after.log_evidence[0] - before.log_evidence[0])
        date += p * float(entropy_bits(after.months[0]))
        neck += p * float(entropy_bits(after.states["neck"][0]))
        pot += p * float(entropy_bits(after.states["pot_2"][0]))
        spread += p * additive_moments(COMPILED, [(*known, outcome)], *value)[1][0]
    assert gain.date_bits == pytest.approx(0.6 * (entropy_bits(before.months[0]) - date), abs=1e-9)
    for part, after_bits in (("neck", neck), ("pot_2", pot)):
        bits = 0.6 * (entropy_bits(before.states[part][0]) - after_bits)
        assert gain.part_bits[part] == pytest.approx(bits, abs=1e-9)
    assert gain.variance == pytest.approx(
        0.6 * (additive_moments(COMPILED, [known], *value)[1][0] - spread), abs=1e-9
    )


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_gains_are_never_below_nought(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    signs, features = set(), set()
    evidence = []
    for one in random_evidence(rng, model):
        if isinstance(one, (SignSeen, FeatureSeen)) and rng.random() < 0.5:
            continue  # left for an inspection
        signs |= {one.sign} if isinstance(one, SignSeen) else set()
        features |= {one.feature} if isinstance(one, FeatureSeen) else set()
        evidence.append(one)
    looks = [
        Inspection(one.name, sign_outcomes(model, one.name))
        for one in model.signs
        if one.name not in signs
    ]
    looks += [
        Inspection(one.name, feature_outcomes(model, one.name))
        for one in model.features
        if one.name not in features and len(set(one.variants)) == len(one.variants)
    ]
    parts = [part.name for part in model.parts]
    for gain in expected_gains(CompiledModel(model), tuple(evidence), looks, parts):
        assert gain.date_bits >= -1e-9
        assert all(bits >= -1e-9 for bits in gain.part_bits.values())


def test_an_outcome_left_out_is_refused() -> None:
    with pytest.raises(EvidenceError, match="do not add up"):
        expected_gains(COMPILED, (), [Inspection("dots", LOOKS["dots"][:-1])])


def test_what_cannot_be_read_tells_nothing() -> None:
    (gain,) = expected_gains(COMPILED, SEEN[:2], [Inspection("dots", LOOKS["dots"], 0.0)])
    assert gain.date_bits == 0
    assert gain.variance is None


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_moments_against_every_configuration(seed: int) -> None:
    """Promised of a spread below 0.5: truncation below 1e-8."""
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = random_evidence(rng, model)
    by_month = rng.uniform(8.5, 9.3, len(model.completion))
    by_state = {
        part.name: tuple(rng.uniform(-0.4, 0, len(part.states)).tolist()) for part in model.parts
    }
    mean, variance = additive_moments(CompiledModel(model), [evidence], by_month, by_state)
    wanted = slow_moments(model, evidence, by_month.tolist(), by_state)
    assert mean[0] == pytest.approx(wanted[0], abs=1e-7)
    assert variance[0] == pytest.approx(wanted[1], abs=1e-7)
