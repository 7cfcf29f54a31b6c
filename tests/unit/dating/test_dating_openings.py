"""Openings: what is refused, and everything that is built on a posterior, under such a model."""

from dataclasses import replace

import numpy as np
import pytest

from fakes.random_openings import random_openings_evidence, random_openings_model
from fakes.slow_openings import slow_openings
from fakes.wherry_openings import compiled_openings, first_written, looks, openings_model
from heelstamp.dating import (
    CompiledModel,
    DatingModel,
    EvidenceError,
    FeatureSeen,
    Inspection,
    Level,
    Look,
    Mark,
    MixedSet,
    ModelError,
    Opening,
    PartSet,
    Reading,
    ScrewsSeen,
    SignSeen,
    StateLikelihood,
    additive_moments,
    elimination,
    entropy_bits,
    expected_after,
    expected_gains,
    infer,
    infer_many,
    judge_identity,
    leave_one_out,
    screw_outcomes,
    sign_outcomes,
    surprises,
    touched_weight,
)
from heelstamp.dating.changed_tables import assumptions
from heelstamp.dating.explanations import explain
from heelstamp.dating.identity import parts_of_several
from heelstamp.dating.learning import learn_features
from heelstamp.dating.questions import Question, with_open_anchor
from heelstamp.dating.second_look import second_look
from heelstamp.dating.sensitivity import sensitivity
from heelstamp.dating.teaching import FeatureGroup
from heelstamp.units import Period, parse_month

FREE = (0.1, 0.1, 0.1, 0.1)


def with_openings(*more: Opening) -> DatingModel:
    model = openings_model()
    return replace(model, openings=(*model.openings, *more))


def refused(model: DatingModel) -> str:
    with pytest.raises(ModelError) as error:
        CompiledModel(model)
    return str(error.value)


def test_a_ring_of_needs_is_refused() -> None:
    ring = with_openings(
        Opening("one", FREE, (("two",),)),
        Opening("two", FREE, along={"three": 0.5}),
        Opening("three", FREE, (("one",),)),
    )
    assert "ring" in refused(ring)
    assert "one, two, three" in refused(ring)


def test_an_assembly_with_too_many_combinations_is_refused() -> None:
    names = [f"screw {i}" for i in range(7)]
    bridge = openings_model().part("bridge")
    both = tuple(
        replace(part, levels=tuple(Level(((name,),), part.levels[0].p) for name in names))
        if part.name in ("bridge", "saddles")
        else part
        for part in openings_model().parts
    )
    assert bridge.levels
    model = replace(with_openings(*(Opening(name, FREE) for name in names)), parts=both)
    message = refused(model)
    assert "bridge, saddles" in message
    assert "more than 64" in message


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"foreign_opens": ("lid_off",)}, "no such opening"),
        ({"careful_default": 1.5}, "0 to 1"),
        ({"openings": (Opening("alone", (0.1,)),)}, "one probability a history class"),
        (
            {"sets": (PartSet("half", ("pot_tone",), FREE, {"later_replacement": 1.0}),)},
            "lot lies partly inside",
        ),
        (
            {"sets": (PartSet("odd", ("neck", "body"), FREE, {"later_replacement": 1.0}),)},
            "no state of a member",
        ),
    ],
)
def test_tables_that_do_not_fit_are_refused(changes: dict[str, object], words: str) -> None:
    with pytest.raises(ModelError, match=words):
        replace(openings_model(), **changes)  # type: ignore[arg-type]


def test_sets_that_add_to_more_than_one_are_refused() -> None:
    sets = tuple(replace(one, p=(0.6, 0.6, 0.6, 0.6)) for one in openings_model().sets)
    assert "more than one" in refused(replace(openings_model(), sets=sets))


@pytest.mark.parametrize(("count", "turned"), [(0, 0), (4, 5), (4, -1)])
def test_counts_of_screws_that_cannot_be(count: int, turned: int) -> None:
    with pytest.raises(EvidenceError, match="from none to all"):
        ScrewsSeen("guard_off", count, turned)


@pytest.mark.parametrize("seen", [ScrewsSeen("lid_off", 3, 1), MixedSet("strings")])
def test_unknown_names_are_refused(seen: ScrewsSeen | MixedSet) -> None:
    with pytest.raises(EvidenceError, match="no such"):
        infer(compiled_openings(), (seen,))


def test_outcomes_of_looks_add_up_and_tell() -> None:
    """Expected gain of screws and of a joint, against entropies of the slow program."""
    rng = np.random.default_rng(5)
    model = random_openings_model(rng, 2, 4)
    evidence = random_openings_evidence(rng, model)
    part = model.parts[-1].name
    sign = next(one.name for one in model.signs if one.opening is not None)
    plans = {
        "screws": screw_outcomes(model.openings[0].name, 3),
        "joint": sign_outcomes(model, sign),
    }
    gains = expected_gains(
        CompiledModel(model), evidence, [Inspection(k, v) for k, v in plans.items()], (part,)
    )
    before = slow_openings(model, evidence)
    for gain, outcomes in zip(gains, plans.values(), strict=True):
        after = [slow_openings(model, (*evidence, one)) for one in outcomes]
        p = np.exp([one.log_evidence - before.log_evidence for one in after])
        assert p.sum() == pytest.approx(1, abs=1e-9)
        left = p @ [float(entropy_bits(np.array(one.months))) for one in after]
        date = float(entropy_bits(np.array(before.months))) - left
        assert gain.date_bits == pytest.approx(date, abs=1e-9)
        states = p @ [float(entropy_bits(np.array(one.states[part]))) for one in after]
        told = float(entropy_bits(np.array(before.states[part]))) - states
        assert gain.part_bits[part] == pytest.approx(told, abs=1e-9)


def test_looks_together() -> None:
    compiled = compiled_openings()
    bundle = [
        Look("heads", tuple((one,) for one in screw_outcomes("neck_off", 4))),
        Look(
            "joint",
            tuple((one,) for one in sign_outcomes(compiled.model, "solder_joints@joint_switch")),
        ),
    ]
    (found,) = expected_after(
        compiled, looks(), [bundle], lambda p, rows: p.states["switch"][:, :1]
    )
    assert found.values[0] == pytest.approx(
        float(infer(compiled, looks()).states["switch"][0, 0]), abs=1e-9
    )


def test_each_look_against_the_others() -> None:
    compiled, evidence = compiled_openings(), looks()
    whole = infer(compiled, evidence)
    left = leave_one_out(compiled, evidence)
    for place in (0, len(evidence) // 2, len(evidence) - 1):
        rest = infer(compiled, evidence[:place] + evidence[place + 1 :])
        ratio = np.exp(whole.log_evidence[0] - rest.log_evidence[0])
        assert left[place].predictive == pytest.approx(ratio, rel=1e-8)
    surprise = surprises(compiled, evidence)
    for one, p in zip(evidence, surprise, strict=True):
        assert (p is None) == isinstance(one, (MixedSet, StateLikelihood))
        assert p is None or 0 < p <= 1


def test_screws_in_question_have_their_stories_and_a_second_look() -> None:
    seen = (ScrewsSeen("neck_off", 4, 4), SignSeen("neck_pocket_fit", "matched"))
    conflict = explain(compiled_openings(), seen, Question(("neck",), (0,)))
    assert sum(story.share for story in conflict.stories) == pytest.approx(1, abs=1e-9)
    again = second_look(compiled_openings(), seen, conflict, 0)
    assert again is not None
    assert again.bits >= 0


def test_doubts_vary_openings_and_careful_hands() -> None:
    compiled, evidence = compiled_openings(), looks()
    found = sensitivity(compiled, evidence, lambda *_: {})
    rows = {(row.name, row.factor): row for row in found.rows}
    assert {("careful", 0.5), ("careful", 2.0), ("disturbed", 2.0)} <= rows.keys()
    # seldom opened means rarely replaced
    kept = found.base.states["guard"][0]
    assert rows["disturbed", 0.5].states["guard"][0] > kept
    assert rows["disturbed", 2.0].states["guard"][0] < kept
    matched = next(one for one in assumptions(openings_model(), evidence) if one.name == "matched")
    level = matched.model.part("neck").levels[0].p
    assert level[1] == 0
    assert sum(level) == pytest.approx(1)


def test_a_foreign_body_has_neck_guard_and_bridge_off() -> None:
    compiled = first_written()
    opened = with_open_anchor(compiled, 0.3)
    found = infer(opened, ())
    places = {one.name: i for i, one in enumerate(opened.model.every_opening)}
    assert found.states["body"][0, 1] == pytest.approx(0.3)
    assert found.openings[0, places["neck_off"]] == pytest.approx(0.3 + 0.7 * 0.324255, abs=1e-6)
    # undisturbed screws speak against it, turned ones do not
    closed = infer(opened, (ScrewsSeen("guard_off", 11, 0), ScrewsSeen("neck_off", 4, 0)))
    turned = infer(opened, (ScrewsSeen("guard_off", 11, 11), ScrewsSeen("neck_off", 4, 4)))
    assert closed.states["body"][0, 1] < 0.02
    assert turned.states["body"][0, 1] > 0.3


def test_the_same_verdict_on_the_body_by_both_ways() -> None:
    compiled, prior = compiled_openings(), 0.01
    for evidence in (looks(), (ScrewsSeen("neck_off", 4, 4), *looks("serial", "mark-neck", "g4"))):
        verdict = judge_identity(compiled, evidence, infer(compiled, evidence), prior)
        opened = infer(with_open_anchor(compiled, prior), evidence)
        assert verdict.foreign_body == pytest.approx(float(opened.states["body"][0, 1]), abs=1e-9)
        assert not verdict.withheld


def test_parts_that_could_have_come_together_are_of_one_instrument() -> None:
    model = openings_model()

    def foreign(*parts: str) -> bool:
        held = tuple(
            StateLikelihood(
                part,
                {
                    s: 1.0 if s == "from_another_instrument" else 1e-9
                    for s in model.part(part).states
                },
            )
            for part in parts
        )
        return bool(parts_of_several(infer(compiled_openings(), held))[0])

    assert not foreign("pickup_neck", "guard")
    assert not foreign("tuner_1", "tuner_2")
    assert not foreign("neck", "tuner_1")
    assert foreign("neck", "guard")
    assert foreign("bridge", "pickup_bridge")


def test_moments_of_a_sum() -> None:
    rng = np.random.default_rng(9)
    model = random_openings_model(rng, 2, 4)
    evidence = random_openings_evidence(rng, model)
    by_month = np.linspace(0, 0.3, len(model.completion))
    part = model.parts[-1].name
    mean, _ = additive_moments(
        CompiledModel(model), [evidence], by_month, {part: (0.0, -0.1, -0.2, -0.3)}
    )
    slow = slow_openings(model, evidence)
    wanted = np.dot(slow.months, by_month) + np.dot(slow.states[part], (0.0, -0.1, -0.2, -0.3))
    assert mean[0] == pytest.approx(wanted, abs=1e-7)


def test_a_change_over_is_learned_under_openings() -> None:
    """Necks dated by their stamp before and after mid-1964 show other dots."""
    model, rng = openings_model(), np.random.default_rng(2)
    middle = parse_month("1964-06")
    variants = model.features[[one.name for one in model.features].index("f12")].variants
    census = []
    for _ in range(40):
        month = middle + int(rng.integers(-30, 31))
        stamp = Mark("neck", (Reading(Period(month - 2, month - 2), 1.0),))
        dots = FeatureSeen("f12", variants[int(month >= middle)])
        census.append((stamp, dots, ScrewsSeen("neck_off", 4, 0)))
    (learned,) = learn_features(
        model, census, [FeatureGroup(("f12",))], Period(middle - 48, middle + 48)
    )
    assert abs(learned.changes[0].centre_mean - middle) < 4


def test_more_rows_than_a_chunk_leave_months_out_alike() -> None:
    """The months left out depend on what shares a chunk; the answers do not."""
    compiled, evidence = compiled_openings(), looks()
    rows = [tuple(one for i, one in enumerate(evidence) if i % 7 != k % 7) for k in range(20)]
    together = infer_many(compiled, rows)
    for place in (0, 9, 19):
        alone = infer(compiled, rows[place])
        assert together.months[place] == pytest.approx(alone.months[0], abs=1e-11)
        assert together.log_evidence[place] == pytest.approx(alone.log_evidence[0], abs=1e-10)
        for part, states in alone.states.items():
            assert together.states[part][place] == pytest.approx(states[0], abs=1e-11)


@pytest.mark.parametrize("contrary", [False, True])
def test_months_left_out_do_not_matter(contrary: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Against all months; also where the body speaks against everything else."""
    body = Mark("body", (Reading(Period.parse("1955-03"), 1.0),))
    rows = [looks(), looks(without=("serial", "mark-neck")), (*looks(), body) if contrary else ()]
    some = [infer(compiled_openings(), row) for row in rows]
    monkeypatch.setattr(elimination, "MANY_ROWS", 10**9)
    for row, found in zip(rows, some, strict=True):
        every = infer(compiled_openings(), row)
        assert found.log_evidence == pytest.approx(every.log_evidence, abs=1e-11)
        assert found.months == pytest.approx(every.months, abs=1e-11)
        assert found.openings == pytest.approx(every.openings, abs=1e-11)
        for part, states in every.states.items():
            assert found.states[part] == pytest.approx(states, abs=1e-11)
    assert (some[0].months == 0).any()  # months were left out
    assert (every.months > 0).all()


def test_weight_of_a_map() -> None:
    """One place alone is touched if any is: its own ratio."""
    assert touched_weight([25.0]) == pytest.approx(25.0)
    assert touched_weight([1.0, 1.0, 1.0]) == pytest.approx(1.0)
    with pytest.raises(EvidenceError):
        touched_weight([])
