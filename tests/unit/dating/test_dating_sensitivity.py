"""Rows of changed tables: recomputed by hand, and what turns over."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fakes.pots_model import CLASSES, STATES, mark, pots_model
from fakes.wherry_openings import looks, openings_model
from heelstamp.dating import (
    Assembly,
    CompiledModel,
    DatingModel,
    Document,
    Evidence,
    FeatureSeen,
    Mark,
    Part,
    Posterior,
    Reading,
    SerialNumber,
    SignSeen,
    central_interval,
    infer,
)
from heelstamp.dating.changed_tables import (
    LARGEST,
    assumptions,
    changed_lag,
    with_history,
    with_matched_share,
    without_volume,
)
from heelstamp.dating.elements import ModelError
from heelstamp.dating.sensitivity import Row, Sensitivity, sensitivity
from heelstamp.units import Period

MODEL = pots_model(0.8)
PAPER = Document(Period(12 * 1966, 12 * 1966 + 11), 0.8)
UNEVEN = Mark(
    "neck", (Reading(Period.parse("1966-03"), 0.8), Reading(Period.parse("1966-08"), 0.2))
)
SEEN: Evidence = (
    mark("body", "1966-02"),
    UNEVEN,
    mark("pot_1", "1965-11"),
    FeatureSeen("dots", "brass"),
    SignSeen("joints", "two"),
    SerialNumber(((12 * 1966 + 3, 1.0),)),
    PAPER,
)
NAMES = [
    ("errors", 0.3),
    ("errors", 3.0),
    ("readings", 1.0),
    ("disturbed", 0.5),
    ("disturbed", 2.0),
    ("kept", 0.5),
    ("kept", 2.0),
    ("lag", 0.5),
    ("lag", 2.0),
    ("left over", 0.0),
    ("left over", 2.0),
    ("serial scale", 0.5),
    ("serial scale", 2.0),
    ("volume", 1.0),
    ("flat prior", 1.0),
    ("matched", 0.0),
    ("matched", 0.25),
    ("matched", 0.5),
    ("matched", 0.75),
]


def no_words(*_: object) -> dict[str, str]:
    return {}


def found(model: DatingModel = MODEL, evidence: Evidence = SEEN) -> Sensitivity:
    return sensitivity(CompiledModel(model), evidence, no_words)


def row(name: str, factor: float) -> Row:
    return next(one for one in found().rows if (one.name, one.factor) == (name, factor))


def test_the_rows_are_those_of_the_method() -> None:
    assert [(one.name, one.factor) for one in found().rows] == NAMES
    bare = replace(MODEL, serial=None)
    without = [one for one in SEEN if not isinstance(one, SerialNumber)]
    names = [one.name for one in found(bare, tuple(without)).rows]
    assert "serial scale" not in names
    even = tuple(mark("neck", "1966-03", "1966-08") if one is UNEVEN else one for one in SEEN)
    assert "readings" not in [one.name for one in found(MODEL, even).rows]
    flat = replace(MODEL, prior=np.full(len(MODEL.completion), 1 / len(MODEL.completion)))
    assert "volume" not in [one.name for one in found(flat).rows]


def test_every_reading_as_good_as_its_rivals_by_hand() -> None:
    evidence = tuple(
        replace(one, readings=tuple(replace(r, weight=0.5) for r in one.readings))
        if one is UNEVEN
        else one
        for one in SEEN
    )
    by_hand = infer(MODEL, evidence)
    told = row("readings", 1.0)
    assert np.abs(told.months - by_hand.months[0]).sum() < 1e-10
    assert told.log_evidence == pytest.approx(float(by_hand.log_evidence[0]), abs=1e-10)
    assert np.abs(told.months - found().base.months).sum() > 1e-3


def test_without_volume_every_month_of_production_is_as_likely_and_the_rest_stays() -> None:
    volume = np.array([0.0, 3.0, 1.0, 0.0, 2.0])
    prior = 0.9 * volume / volume.sum() + 0.1 / 5
    assert without_volume(prior) == pytest.approx([0.02, 0.32, 0.32, 0.02, 0.32])
    cut = volume / volume.sum()
    assert without_volume(cut) == pytest.approx([0, 1 / 3, 1 / 3, 0, 1 / 3])
    assert without_volume(np.full(5, 0.2)) == pytest.approx(np.full(5, 0.2))


def test_the_openings_model_has_its_own_tables_changed() -> None:
    model, evidence = openings_model(), looks()
    rows = {(one.name, one.factor): one for one in assumptions(model, evidence)}
    assert {("careful", 2.0), ("along", 0.5), ("tightened", 2.0)} <= set(rows)
    along = rows["along", 0.5].model
    for one, other in zip(model.openings, along.openings, strict=True):
        assert dict(other.along) == {name: share / 2 for name, share in one.along.items()}
    assert rows["tightened", 2.0].model.screws.tightened == 2 * model.screws.tightened
    assert any(
        other.along[name] == 1.0
        for one, other in zip(model.openings, rows["along", 2.0].model.openings, strict=True)
        for name in one.along
    )


def test_a_little_touched_life_half_and_twice_as_common_by_hand() -> None:
    (first, kept), *others = MODEL.history
    moved = 2 * kept / (1 + kept)
    rest = {name: p * (1 - moved) / (1 - kept) for name, p in others}
    by_hand = infer(replace(MODEL, history=((first, moved), *rest.items())), SEEN)
    told = row("kept", 2.0)
    assert told.log_evidence == pytest.approx(float(by_hand.log_evidence[0]), abs=1e-10)
    assert np.abs(told.months - by_hand.months[0]).sum() < 1e-10


def test_an_instrument_put_together_is_twice_as_common_and_the_rest_keeps_its_shares() -> None:
    model = openings_model()
    rows = {(one.name, one.factor): one for one in assumptions(model, looks())}
    moved = dict(rows["assembled", 2.0].model.history)
    assert moved["put together"] == pytest.approx(2 * 0.015 / 1.015)
    assert moved["kept"] / moved["used"] == pytest.approx(2)
    with pytest.raises(ModelError, match="cannot be moved"):
        with_history(model, [], 2.0)


def test_sets_that_exclude_each_other_stay_possible_and_others_are_doubled() -> None:
    model = openings_model()
    rows = {(one.name, one.factor): one for one in assumptions(model, looks())}
    doubled = rows["disturbed", 2.0].model.sets
    ratios = {
        one.name: np.array(other.p) / np.maximum(one.p, 1e-9)
        for one, other in zip(model.sets, doubled, strict=True)
    }
    assert ratios["harness"][:3] == pytest.approx(2)
    together = sum(one.p[3] for one in doubled if one.name.startswith("neck"))
    assert 0.9 < together <= 1


def test_three_times_the_errors_by_hand() -> None:
    serial = MODEL.serial
    assert serial is not None
    model = replace(
        MODEL,
        features=tuple(replace(one, error=0.03) for one in MODEL.features),
        signs=tuple(replace(one, error=0.03) for one in MODEL.signs),
        serial=replace(serial, error=0.03),
    )
    evidence: Evidence = (
        mark("body", "1966-02", error=0.03),
        replace(UNEVEN, error=0.03),
        mark("pot_1", "1965-11", error=0.03),
        *SEEN[3:6],
        replace(PAPER, reliability=0.4),
    )
    assert {one.error for one in (*MODEL.features, *MODEL.signs)} == {0.01}
    by_hand = infer(model, evidence)
    told = row("errors", 3.0)
    assert np.abs(told.months - by_hand.months[0]).sum() < 1e-10
    assert told.log_evidence == pytest.approx(float(by_hand.log_evidence[0]), abs=1e-10)


def test_half_of_replacements_matched_by_hand() -> None:
    """KEPT and OPENED of the fake: 0.01 each, and 0.2, 0.2, 0.1, of which half become period."""
    kept, opened = (0.97, 0.015, 0.0075, 0.0075), (0.5, 0.25, 0.25 * 2 / 3, 0.25 / 3)
    parts = tuple(
        one if one.name == "body" else replace(one, undisturbed=kept, disturbed=opened)
        for one in MODEL.parts
    )
    by_hand = infer(replace(MODEL, parts=parts), SEEN)
    told = row("matched", 0.5)
    assert np.abs(told.months - by_hand.months[0]).sum() < 1e-10
    for part, states in by_hand.states.items():
        assert told.states[part] == pytest.approx(states[0], abs=1e-10)


def test_twice_as_often_disturbed_by_hand() -> None:
    doubled = tuple(
        Assembly(one.name, one.parts, tuple(min(1.0, 2 * p) for p in one.disturbed))
        for one in MODEL.assemblies
    )
    by_hand = infer(replace(MODEL, assemblies=doubled), SEEN)
    assert max(p for one in doubled for p in one.disturbed) == 1.0
    assert np.abs(row("disturbed", 2.0).months - by_hand.months[0]).sum() < 1e-10


def test_a_flat_prior_changes_the_table_of_serials_too() -> None:
    even = np.full(len(MODEL.completion), 1 / len(MODEL.completion))
    by_hand = infer(replace(MODEL, prior=even), SEEN)
    assert np.abs(row("flat prior", 1.0).months - by_hand.months[0]).sum() < 1e-10


def test_ends_and_states_take_every_row_in() -> None:
    whole = found()
    lower, upper = whole.ends()
    least, most = whole.states("neck")
    for one in (whole.base, *whole.rows):
        span = central_interval(one.months, MODEL.completion, 0.9)
        assert span.first in lower
        assert span.last in upper
        assert (least <= one.states["neck"]).all()
        assert (one.states["neck"] <= most).all()
    assert np.abs(whole.base.months - infer(MODEL, SEEN).months[0]).sum() < 1e-12


def test_a_statement_turns_over_when_its_word_falls() -> None:
    def word(_: CompiledModel, __: Evidence, posterior: Posterior, ___: object) -> dict[str, str]:
        p = posterior.states["pot_1"][0, 0]
        return {"pot": "original" if p >= level else "open", "sky": "blue"}

    compiled = CompiledModel(MODEL)
    ps = sorted(float(one.states["pot_1"][0]) for one in (found().base, *found().rows))
    level = (ps[0] + float(found().base.states["pot_1"][0])) / 2
    whole = sensitivity(compiled, SEEN, word)
    turned = whole.turned("pot")
    assert turned
    assert all(one.states["pot_1"][0] < level for one in turned)
    assert {one.name for one in whole.rows if one.states["pot_1"][0] < level} == {
        one.name for one in turned
    }
    assert whole.turned("sky") == ()
    assert whole.turned("pot", lambda word, base: True) == ()


@given(
    rest=st.lists(st.floats(0, 1), min_size=2, max_size=40).filter(lambda row: sum(row) > 0.01),
    tail=st.floats(0, 0.5),
    mean=st.sampled_from((0.5, 1.0, 2.0)),
    share=st.sampled_from((0.0, 1.0, 2.0)),
    room=st.integers(40, 90),
)
def test_a_changed_lag_is_a_lag(
    rest: list[float], tail: float, mean: float, share: float, room: int
) -> None:
    lag = (1 - tail) * np.array(rest) / sum(rest) + tail / len(rest)
    changed = np.array(changed_lag(lag.tolist(), mean, share, room))
    assert changed.sum() == pytest.approx(1)
    assert (changed >= 0).all()
    assert len(changed) <= max(room, len(lag))
    if mean == share == 1.0:
        assert changed == pytest.approx(lag, abs=1e-12)


@pytest.mark.parametrize("mean", [0.5, 2.0])
def test_stretching_scales_the_mean_of_what_is_not_left_over(mean: float) -> None:
    months = np.arange(25)
    rest = (months + 0.5) * np.exp(-months / 3.0) * (months < 20)
    rest /= rest.sum()
    lag = 0.95 * rest + 0.05 / 25
    found = np.array(changed_lag(lag.tolist(), mean, 0.0, 80))
    # lags are whole months gone by: their middle lies half a month later, if months are even
    assert found @ np.arange(len(found)) + 0.5 == pytest.approx(
        mean * (rest @ months + 0.5), rel=1e-3
    )


def test_left_over_stock_alone_is_not_stretched_and_its_share_is_bounded() -> None:
    even = (0.25,) * 4
    assert changed_lag(even, 2.0, 2.0, 20) == even
    nearly = np.array([0.26, 0.25, 0.25, 0.24])
    most = np.array(changed_lag(nearly.tolist(), 1.0, 2.0, 20))
    assert len(most) * most.min() <= max(LARGEST, 4 * nearly.min()) + 1e-9


def test_matched_shares_keep_the_total_and_leave_single_ways_alone() -> None:
    single = Part("neck", STATES[:2], CLASSES[:2], (0.9, 0.1), (0.5, 0.5))
    model = replace(MODEL, parts=(MODEL.parts[0], single, *MODEL.parts[2:]), signs=MODEL.signs[1:])
    changed = with_matched_share(model, 0.75, [one.name for one in model.parts])
    assert changed.part("neck") == single
    pot = changed.part("pot_1")
    assert pot.disturbed == pytest.approx((0.5, 0.375, 0.125 * 2 / 3, 0.125 / 3))
    assert with_matched_share(model, 0.75, []) == model
    none = replace(MODEL.part("neck"), undisturbed=(0.9, 0.0, 0.05, 0.05))
    model = replace(MODEL, parts=(MODEL.parts[0], none, *MODEL.parts[2:]))
    moved = with_matched_share(model, 0.5, ["neck"]).part("neck").undisturbed
    assert moved == pytest.approx((0.9, 0.05, 0.025, 0.025))


def test_every_changed_model_is_a_model_and_errors_stay_below_one() -> None:
    many = replace(MODEL, features=tuple(replace(one, error=0.5) for one in MODEL.features))
    for one in assumptions(many, SEEN):
        assert all(0 < feature.error < 1 for feature in one.model.features)
    certain = replace(MODEL, features=tuple(replace(one, error=0.97) for one in MODEL.features))
    kept = [one for one in assumptions(certain, SEEN) if one.factor == 3.0]
    assert {feature.error for one in kept for feature in one.model.features} == {0.97}
