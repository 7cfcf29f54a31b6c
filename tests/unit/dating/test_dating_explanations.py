"""Two stories: shares against a literal sum over configurations, and what would decide."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.pots_model import CLASSES, mark, pots_model
from fakes.random_dating import random_evidence, random_model
from fakes.slow_dating import configurations
from heelstamp.dating import (
    CompiledModel,
    DatingModel,
    Document,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Inspection,
    Mark,
    MonthLikelihood,
    Observation,
    Part,
    SerialNumber,
    SignSeen,
    StateLikelihood,
    entropy_bits,
    feature_outcomes,
    infer,
    judge_identity,
    mark_outcomes,
    sign_outcomes,
    surprises,
)
from heelstamp.dating.explanations import (
    Conflict,
    deciding,
    each_by_itself,
    error_and_floor,
    explain,
    told_of_two,
)
from heelstamp.dating.questions import Question, part_of, quarrels, questions, with_open_anchor
from heelstamp.dating.second_look import INDEPENDENT, second_look

NEVER_WRONG = 1e-12
MODEL = pots_model(0.8)
COMPILED = CompiledModel(MODEL)
BUILT_1966 = (
    mark("body", "1966-04"),
    mark("pot_1", "1966-03"),
    FeatureSeen("felt", "none"),
    SerialNumber(((12 * 1966 + 4, 1.0),)),
)
OLD_NECK = (*BUILT_1966, mark("neck", "1957-05"))
NECK = Question(("neck",), (4,))

SEEDED = settings(max_examples=25, deadline=None, derandomize=True, database=None)


def without_error(
    model: DatingModel, evidence: Evidence, place: int
) -> tuple[DatingModel, Evidence, float]:
    """The same world in which the observation at *place* is never mistaken, and its real e."""
    one = evidence[place]

    def put(new: Observation) -> Evidence:
        return (*evidence[:place], new, *evidence[place + 1 :])

    if isinstance(one, Mark):
        return model, put(replace(one, error=NEVER_WRONG)), one.error
    if isinstance(one, Document):
        return model, put(replace(one, reliability=1 - NEVER_WRONG)), 1 - one.reliability
    if isinstance(one, FeatureSeen):
        feature = next(f for f in model.features if f.name == one.feature)
        changed = tuple(
            replace(f, error=NEVER_WRONG) if f is feature else f for f in model.features
        )
        return replace(model, features=changed), evidence, feature.error
    if isinstance(one, SignSeen):
        sign = next(s for s in model.signs if s.name == one.sign)
        signs = tuple(replace(s, error=NEVER_WRONG) if s is sign else s for s in model.signs)
        return replace(model, signs=signs), evidence, sign.error
    assert isinstance(one, SerialNumber)
    assert model.serial is not None
    never = replace(model, serial=replace(model.serial, error=NEVER_WRONG))
    return never, evidence, model.serial.error


def by_state(model: DatingModel, evidence: Evidence, part: str) -> dict[str, float]:
    """P(everything seen and state) of one part, by summing configurations."""
    place = [one.name for one in model.parts].index(part)
    states = model.parts[place].states
    found = dict.fromkeys(states, 0.0)
    for _, _, _, chosen, weight in configurations(model, evidence):
        found[states[chosen[place]]] += weight
    return found


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_content_and_mistake_against_every_configuration(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = each_by_itself(random_evidence(rng, model))
    kinds = (Mark, FeatureSeen, SignSeen, SerialNumber, Document)
    places = [
        place
        for place, one in enumerate(evidence)
        if isinstance(one, kinds)
        # several looks at one sign cannot be told apart by the model's one error of it
        and evidence.count(one) == 1
        and not (
            isinstance(one, SignSeen)
            and sum(one.sign == other.sign for other in evidence if isinstance(other, SignSeen)) > 1
        )
    ]
    if not places:
        return
    place = int(rng.choice(places))
    part = part_of(model, evidence[place]) or model.parts[-1].name
    whole = by_state(model, evidence, part)
    total = math.fsum(whole.values())
    never, sure, error = without_error(model, evidence, place)
    content = by_state(never, sure, part)
    shares: dict[tuple[str, bool], float] = {}
    for state, weight in whole.items():
        right = (1 - error) * content[state] / total
        shares |= {(state, False): right, (state, True): weight / total - right}
    try:
        conflict = explain(CompiledModel(model), evidence, Question((part,), (place,)))
    except EvidenceError:
        assert sum(share > 1e-9 for share in shares.values()) < 2
        return
    told = {(one.states[part], bool(one.mistaken)): one.share for one in conflict.stories}
    for story, share in shares.items():
        assert told.get(story, 0.0) == pytest.approx(share, abs=1e-9)
    assert math.fsum(told.values()) == pytest.approx(1, abs=1e-9)


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_stories_of_two_observations_add_up_to_those_of_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = tuple(
        one
        for one in random_evidence(rng, model)
        if not isinstance(one, (StateLikelihood, MonthLikelihood))
    )
    if len(evidence) < 2:
        return
    compiled, part = CompiledModel(model), model.parts[-1].name
    one = explain(compiled, evidence, Question((part,), (0,)))
    both = explain(compiled, evidence, Question((part,), (0, 1)))
    for story in one.stories:
        parts = [
            s
            for s in both.stories
            if s.states == story.states and (0 in s.mistaken) == (0 in story.mistaken)
        ]
        assert math.fsum(s.share for s in parts) == pytest.approx(story.share, abs=1e-9)
        months = sum((s.share * s.months for s in parts), np.zeros(len(model.completion)))
        if story.share > 1e-6:
            assert np.abs(months / story.share - story.months).sum() < 1e-5
    assert math.fsum(s.share for s in both.stories) == pytest.approx(1, abs=1e-9)
    months = sum((s.share * s.months for s in both.stories), np.zeros(len(model.completion)))
    assert np.abs(months - infer(compiled, each_by_itself(evidence)).months[0]).sum() < 1e-9


def test_priors_are_those_of_states_and_errors() -> None:
    conflict = explain(COMPILED, OLD_NECK, NECK)
    before = infer(COMPILED, ()).states["neck"][0]
    names = MODEL.part("neck").states
    for story in conflict.stories:
        state = before[names.index(story.states["neck"])]
        assert story.prior == pytest.approx(state * (0.01 if story.mistaken else 0.99), rel=1e-9)
    odds = conflict.first.share / conflict.second.share
    assert conflict.odds == pytest.approx(odds)
    ratio = odds / (conflict.first.prior / conflict.second.prior)
    assert conflict.likelihood_ratio == pytest.approx(ratio)


def test_the_rival_does_without_what_the_first_asks_for() -> None:
    conflict = explain(COMPILED, OLD_NECK, NECK)
    assert conflict.first.states == {"neck": "from_another_instrument"}
    assert conflict.first.mistaken == ()
    assert conflict.second.states == {"neck": "original"}
    assert conflict.second.mistaken == (4,)
    shares = [one.share for one in conflict.stories]
    assert shares == sorted(shares, reverse=True)


def test_when_nothing_out_of_the_ordinary_is_likeliest_the_next_story_is_the_rival() -> None:
    evidence = (*BUILT_1966, mark("neck", "1966-02"))
    conflict = explain(COMPILED, evidence, NECK)
    assert (conflict.first.states, conflict.first.mistaken) == ({"neck": "original"}, ())
    assert conflict.second is conflict.stories[1]


@pytest.mark.parametrize(
    "look",
    [
        Inspection("dots", feature_outcomes(MODEL, "dots"), 0.7),
        Inspection("fit", sign_outcomes(MODEL, "fit")),
        Inspection("again", mark_outcomes(MODEL, "neck", 0.01)),
    ],
    ids=lambda look: look.name,
)
def test_what_decides_is_worked_out_outcome_by_outcome(look: Inspection) -> None:
    """Bits on which of two stories holds, each outcome explained by itself."""
    conflict = explain(COMPILED, OLD_NECK, NECK)
    told = [(one.states, one.mistaken) for one in (conflict.first, conflict.second)]
    table = []
    whole = float(infer(COMPILED, OLD_NECK).log_evidence[0])
    for outcome in look.outcomes:
        after = explain(COMPILED, (*OLD_NECK, outcome), NECK)
        p = math.exp(float(infer(COMPILED, (*OLD_NECK, outcome)).log_evidence[0]) - whole)
        shares = {(str(s.states), s.mistaken): p * s.share for s in after.stories}
        table.append([shares.get((str(states), mistaken), 0.0) for states, mistaken in told])
    pairs = np.array(table)
    weights = pairs.sum(axis=1)
    before = float(entropy_bits(pairs.sum(axis=0) / pairs.sum()))
    after_bits = sum(
        w * float(entropy_bits(row / w)) for row, w in zip(pairs, weights, strict=True) if w > 0
    )
    (found,) = deciding(COMPILED, OLD_NECK, conflict, [look])
    wanted = look.readable * (before - after_bits / pairs.sum())
    assert found.bits == pytest.approx(wanted, abs=1e-7)


def test_the_best_comes_first_and_outcomes_are_taken_together() -> None:
    conflict = explain(COMPILED, OLD_NECK, NECK)

    class Two:
        name = "fit and dots"
        readable = 1.0
        outcomes = tuple(
            (fit, dots)
            for fit in sign_outcomes(MODEL, "fit")
            for dots in feature_outcomes(MODEL, "dots")
        )

    looks = [Inspection("fit", sign_outcomes(MODEL, "fit")), Two()]
    found = deciding(COMPILED, OLD_NECK, conflict, looks)
    assert [one.inspection for one in found] == ["fit and dots", "fit"]
    assert found[0].bits > found[1].bits > 0


def test_an_outcome_left_out_is_refused() -> None:
    conflict = explain(COMPILED, OLD_NECK, NECK)
    with pytest.raises(EvidenceError, match="do not add up"):
        deciding(COMPILED, OLD_NECK, conflict, [Inspection("x", sign_outcomes(MODEL, "fit")[:1])])
    assert deciding(COMPILED, OLD_NECK, conflict, []) == ()


def test_a_second_look_at_a_mark_is_a_second_mark() -> None:
    """Independent given the make month, so both ways of working it out must agree."""
    conflict = explain(COMPILED, OLD_NECK, NECK)
    again = Inspection("again", mark_outcomes(MODEL, "neck", 0.01), INDEPENDENT)
    (as_mark,) = deciding(COMPILED, OLD_NECK, conflict, [again])
    found = second_look(COMPILED, OLD_NECK, conflict, 4)
    assert found is not None
    assert found.bits == pytest.approx(as_mark.bits, abs=1e-9)


@pytest.mark.parametrize(
    "seen",
    [FeatureSeen("dots", "clay"), SignSeen("fit", "not"), mark("neck", "1957-05", "1958-05")],
    ids=["feature", "sign", "mark of two readings"],
)
def test_a_second_look_tells_no_more_than_the_choice_holds(seen: Observation) -> None:
    evidence = (*BUILT_1966, seen)
    conflict = explain(COMPILED, evidence, NECK)
    found = second_look(COMPILED, evidence, conflict, 4)
    assert found is not None
    shares = np.array([conflict.first.share, conflict.second.share])
    assert 0 <= found.bits <= INDEPENDENT * float(entropy_bits(shares / shares.sum())) + 1e-12
    if (4 in conflict.first.mistaken) != (4 in conflict.second.mistaken):
        assert found.bits > 0


def test_a_serial_number_can_be_looked_at_again_and_a_paper_cannot() -> None:
    paper = Document(mark("body", "1960-01").readings[0].period, 0.8)
    evidence = (mark("body", "1960-02"), SerialNumber(((12 * 1966, 1.0),)), paper)
    conflict = explain(COMPILED, evidence, Question((), (1, 2)))
    serial, none = (second_look(COMPILED, evidence, conflict, place) for place in (1, 2))
    assert serial is not None
    assert none is None
    with pytest.raises(ValueError, match="in question"):
        second_look(COMPILED, evidence, conflict, 0)


def test_certainty_tells_everything_and_independence_nothing() -> None:
    assert told_of_two(np.array([[0.5, 0.0], [0.0, 0.5]])) == pytest.approx(1)
    assert told_of_two(np.array([[0.3, 0.1], [0.3, 0.1]])) == pytest.approx(0, abs=1e-12)


def test_questions_are_asked_where_something_does_not_fit() -> None:
    def asked(evidence: Evidence) -> tuple[Question, ...]:
        posterior = infer(COMPILED, evidence)
        return questions(COMPILED, evidence, posterior, surprises(COMPILED, evidence))

    assert asked(()) == ()
    assert asked((*BUILT_1966, mark("neck", "1966-02"))) == ()
    found = asked(OLD_NECK)
    assert any(one.parts == ("neck",) and 4 in one.observations for one in found)
    # old features beside the old mark: nothing surprises any more, and the neck is foreign
    whole = (*OLD_NECK, FeatureSeen("dots", "clay"), SignSeen("fit", "not"))
    neck = [one for one in asked(whole) if one.parts == ("neck",)]
    assert len(neck) == 1


def test_pieces_of_one_look_are_not_two_mistakes() -> None:
    evidence = (*BUILT_1966, mark("neck", "1957-05"), FeatureSeen("dots", "clay"))
    posterior, surprise = infer(COMPILED, evidence), [None] * 4 + [0.002, 0.001]
    apart = questions(COMPILED, evidence, posterior, surprise)
    assert apart[0] == Question(("neck",), (5, 4))
    looks = ["a", "b", "c", "d", "heel", "heel"]
    assert questions(COMPILED, evidence, posterior, surprise, looks)[0] == Question(("neck",), (5,))


def test_an_open_anchor_is_foreign_as_often_as_identity_says() -> None:
    evidence = (mark("body", "1957-05"), *BUILT_1966[1:], mark("neck", "1966-02"))
    posterior = infer(COMPILED, evidence)
    identity = judge_identity(COMPILED, evidence, posterior, 0.04)
    conflict = explain(with_open_anchor(COMPILED, 0.04), evidence, Question(("body",), (0,)))
    foreign = [s.share for s in conflict.stories if s.states["body"] != "original"]
    assert identity.foreign_body is not None
    assert math.fsum(foreign) == pytest.approx(identity.foreign_body, abs=1e-9)
    priors = {s.states["body"]: s.prior for s in conflict.stories if not s.mistaken}
    assert priors["from_another_instrument"] == pytest.approx(0.04 * 0.99)
    bare = replace(
        MODEL, parts=(Part("body", ("x",), CLASSES[:1], (1.0,), (1.0,)), *MODEL.parts[1:])
    )
    sure = CompiledModel(bare)
    assert with_open_anchor(sure, 0.04) is sure


def test_two_parts_that_the_rest_can_live_with_singly_quarrel() -> None:
    evidence = (mark("neck", "1957-05"), mark("pot_1", "1967-05"), mark("pot_2", "1967-05"))
    found = quarrels(COMPILED, evidence, 0.5)
    p, q = "neck", "pot_1"
    logs = [
        float(infer(COMPILED, tuple(m for m in evidence if m.part not in out)).log_evidence[0])
        for out in ((), (p, q), (p,), (q,))
    ]
    ratio = math.exp(logs[0] + logs[1] - logs[2] - logs[3])
    told = {frozenset(one[:2]): one[2] for one in quarrels(COMPILED, evidence, math.inf)}
    assert told[frozenset((p, q))] == pytest.approx(ratio, rel=1e-9)
    assert [one[2] for one in found] == sorted(one[2] for one in found)
    assert quarrels(COMPILED, evidence[:1]) == ()


def test_what_cannot_be_split_is_refused() -> None:
    with pytest.raises(EvidenceError, match="no error of its own"):
        error_and_floor(COMPILED, StateLikelihood("neck", {"original": 0.5}))
    with pytest.raises(EvidenceError, match="nothing is in question"):
        explain(COMPILED, OLD_NECK, Question((), ()))
    with pytest.raises(EvidenceError, match="two stories"):
        explain(COMPILED, OLD_NECK, Question(("body",), ()))


def test_a_conflict_knows_its_odds_by_what_it_keeps() -> None:
    conflict = explain(COMPILED, OLD_NECK, Question(("neck", "pot_1"), (4, 1)))
    assert isinstance(conflict, Conflict)
    assert math.fsum(one.share for one in conflict.stories) == pytest.approx(1, abs=1e-9)
    assert conflict.odds >= 1
    assert set(conflict.first.states) == {"neck", "pot_1"}
