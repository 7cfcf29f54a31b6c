"""Change-overs learned from a census: against brute force and planted truths, by properties."""

from functools import cache

import numpy as np
import pytest

from fakes.departing_world import Instrument, draw_world
from fakes.pots_model import pots_model
from fakes.short_form import short_chronology
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, DatingModel, Evidence, FeatureSeen, infer, infer_many
from heelstamp.dating.change_quadrature import WIDTHS, central
from heelstamp.dating.changeover import happened, variant_curves
from heelstamp.dating.learning import LearnedFeature, learn_features, with_curves, with_learned
from heelstamp.dating.model import Feature, LearnedTransition, ModelError, Transition
from heelstamp.dating.teaching import FeatureGroup, dated_without
from heelstamp.units import Period, parse_month

SPAN = Period(parse_month("1953-03"), parse_month("1968-06"))


@cache
def wherry() -> DatingModel:
    return dating_model(short_chronology())


@cache
def world(count: int, seed: int = 7) -> tuple[Instrument, ...]:
    return tuple(draw_world(wherry(), seed, count))


@cache
def census(count: int) -> tuple[Evidence, ...]:
    return tuple(one.seen for one in world(count))


def groups(*names: str) -> list[FeatureGroup]:
    return [FeatureGroup((name,)) for name in names]


def learned(names: tuple[str, ...], count: int, **options: int) -> tuple[LearnedFeature, ...]:
    return learn_features(wherry(), census(count), groups(*names), SPAN, **options)


def feature(model: DatingModel, name: str) -> Feature:
    return next(one for one in model.features if one.name == name)


def test_the_posterior_is_the_product_of_what_each_look_says() -> None:
    """Grid against a plain product over looks, at a few of its points."""
    name, base = "f12", wherry()
    found = learned((name,), 40, sweeps=1)[0].changes[0]
    rows = dated_without(CompiledModel(base), census(40), FeatureGroup((name,)))
    one, months = feature(base, name), np.arange(len(base.completion)) + base.completion.first
    # nothing is known of the curve: the bare grid's mean, for replacements of the period
    centres = np.arange(SPAN.first, SPAN.last + 1, 2.0)
    away = months[:, None, None] - centres[None, :, None]
    weights = np.array([0.5, *[1.0] * 8, 0.5]) / 9  # flat in the logarithm, trapezoidal rule
    bare = (1 / (1 + np.exp(np.clip(-away / WIDTHS, -700, 700)))).mean(axis=1) @ weights
    edge = len(base.gap) + abs(base.gap_first)
    longer = np.concatenate([np.full(edge, bare[0]), bare, np.full(edge, bare[-1])])
    gap = sum(
        share * longer[edge + base.gap_first + i :][: len(months)]
        for i, share in enumerate(base.gap)
    )
    error = one.error

    def mixed(told: float) -> float:
        return (1 - error) * told + error / 3

    places = [(20, 3), (30, 1), (60, 4), (61, 4), (62, 9), (80, 0)]
    logs = []
    for centre, width in places:
        curve = happened(Transition(found.centres[centre], found.widths[width]), months)
        total = 0.0
        for n, variant in enumerate(rows.variants):
            built = float(rows.months[n] @ (1 - curve, curve, 0 * curve)[variant])
            period = float(rows.months[n] @ (1 - gap, gap, 0 * gap)[variant])
            rest = 1 - rows.built[n] - rows.period[n]
            p = rows.built[n] * mixed(built) + rows.period[n] * mixed(period)
            total += float(np.log(p + rest * mixed(one.later[variant])))
        logs.append(total + np.log(weights[width]))
    grid = np.log([found.posterior[place] for place in places])
    assert grid - grid[2] == pytest.approx(np.array(logs) - logs[2], abs=1e-4)


def test_planted_change_overs_lie_in_their_ranges() -> None:
    names = tuple(f"f{i:02d}" for i in range(1, 15))
    found = learned(names, 200)
    errors, inside = [], 0
    for one in found:
        truth = feature(wherry(), one.group.names[0]).transitions[0]
        assert isinstance(truth, Transition)
        low, high = one.changes[0].centre_90
        inside += low <= truth.centre <= high
        errors.append(one.changes[0].centre_mean - truth.centre)
        assert one.looks > 150
    assert inside >= 11  # of 14 at 90 %: fewer than 11 come about in 1 % of censuses
    assert np.abs(errors).mean() < 3.0  # the design's figure for 200 instruments is 3.0


def test_small_censuses_give_wide_curves() -> None:
    """Knowledge widens by itself: less data, larger deviation and a flatter curve."""
    sizes = (8, 40, 200)
    changes = [learned(("f12",), size)[0].changes[0] for size in sizes]
    sds = [one.centre_sd for one in changes]
    assert sds[0] > sds[1] > sds[2]
    steepest = [max(np.diff(one.transition.values)) for one in changes]
    assert steepest[0] < steepest[1] < steepest[2]


def test_one_sided_knowledge_stays_open_on_the_other_side() -> None:
    """Where only the old variant was seen, the change-over may lie anywhere later."""
    early = [one.seen for one in world(200) if one.completed < parse_month("1960-01")]
    change = learn_features(wherry(), early, groups("f14"), SPAN)[0].changes[0]
    high = change.centre_90[1]
    assert high > SPAN.last - 12
    assert change.centre_sd > 20
    curve = np.array(change.transition.values)
    assert (np.diff(curve) > -2e-4).all()


def test_what_the_model_believed_of_the_features_does_not_matter() -> None:
    """No circle: whatever was believed of the change-overs, the same curves, byte for byte."""
    names = ("f08", "f10", "f12", "p2")
    believed = with_curves(
        wherry(), {name: (LearnedTransition(SPAN.first + 30, (0.2, 0.9)),) for name in names[:3]}
    )
    one = learn_features(wherry(), census(60), groups(*names), SPAN)
    other = learn_features(believed, census(60), groups(*names), SPAN)
    assert [a.transitions for a in one] == [b.transitions for b in other]


def test_a_feature_is_dated_without_itself() -> None:
    """The looks' dates are those of the evidence without the feature, whatever it shows."""
    compiled = CompiledModel(wherry())
    turned = [
        tuple(
            FeatureSeen(one.feature, "other")
            if isinstance(one, FeatureSeen) and one.feature == "f12"
            else one
            for one in seen
        )
        for seen in census(20)
    ]
    straight = dated_without(compiled, census(20), FeatureGroup(("f12",)))
    crooked = dated_without(compiled, turned, FeatureGroup(("f12",)))
    assert straight.months.tobytes() == crooked.months.tobytes()
    assert straight.built.tobytes() == crooked.built.tobytes()
    first = next(n for n, seen in enumerate(census(20)) if "f12" in str(seen))
    alone = tuple(
        one
        for one in census(20)[first]
        if not (isinstance(one, FeatureSeen) and one.feature == "f12")
    )
    assert straight.months[0] == pytest.approx(infer(compiled, alone).months[0], abs=1e-12)
    assert straight.instruments[0] == first


def test_a_prefix_is_learned_without_the_number() -> None:
    compiled = CompiledModel(wherry())
    group = FeatureGroup(("g2",), read_from_serial=True)
    found = dated_without(compiled, census(20), group)
    number = {type(one).__name__ for seen in census(20) for one in seen}
    assert "SerialNumber" in number
    with_number = dated_without(compiled, census(20), FeatureGroup(("g2",)))
    assert np.abs(found.months - with_number.months).sum() > 1


def test_two_change_overs_of_one_feature_are_both_found() -> None:
    names = tuple(one.name for one in wherry().features if one.name.startswith("g1@"))
    found = learn_features(wherry(), census(200), [FeatureGroup(names)], SPAN)[0]
    truths = feature(wherry(), names[0]).transitions
    assert len(found.changes) == len(truths) == 2
    for change, truth in zip(found.changes, truths, strict=True):
        assert isinstance(truth, Transition)
        assert abs(change.centre_mean - truth.centre) < 3 * change.centre_sd + 2
    both = variant_curves(
        feature(with_learned(wherry(), [found]), names[0]), np.arange(SPAN.first, SPAN.last)
    )
    assert both.sum(axis=0) == pytest.approx(1)


def test_a_passing_batch_is_found_with_its_share() -> None:
    found = learned(("p2",), 400)[0]
    truth = feature(wherry(), "p2").passing
    assert truth is not None
    assert found.passing is not None
    assert found.passing.first_90[0] <= truth[0] + 0.5 <= found.passing.first_90[1]
    assert found.passing.last_90[0] <= truth[1] - 0.5 <= found.passing.last_90[1]
    assert abs(found.passing.share - truth[2]) < 2.5 * found.passing.share_sd
    curve = happened(found.passing.transition, np.arange(SPAN.first, SPAN.last + 1))
    middle = round((truth[0] + truth[1]) / 2) - SPAN.first
    assert curve[middle] == curve.max() or curve[middle] > 0.6 * curve.max()
    assert curve[0] < 0.05 > curve[-1]


def test_few_looks_teach_nothing() -> None:
    assert learned(("f12",), 200, least=500) == ()
    assert learn_features(wherry(), [], groups("f12"), SPAN) == ()


def test_instruments_that_do_not_show_the_feature_change_nothing() -> None:
    silent = tuple(
        one
        for one in census(200)[5]
        if not (isinstance(one, FeatureSeen) and one.feature in {"f12", "f10"})
    )
    plain = learned(("f12", "f10"), 40)
    more = learn_features(wherry(), (*census(40), silent), groups("f12", "f10"), SPAN)
    assert [one.transitions for one in plain] == [one.transitions for one in more]


def test_dating_with_learned_curves_holds_what_it_says() -> None:
    """A census of 200 with marks; others dated without marks: 90 % holds at least .86."""
    names = tuple(f"f{i:02d}" for i in range(1, 15))
    model = with_learned(wherry(), learned(names, 200))
    compiled = CompiledModel(model)
    others = draw_world(wherry(), 99, 1500)
    from heelstamp.dating import Mark
    from heelstamp.dating.calibration import hit_rates

    rows = [tuple(one for one in it.seen if not isinstance(one, Mark)) for it in others]
    posterior = infer_many(compiled, rows)
    truth = np.array([it.completed for it in others]) - model.completion.first
    half, most = hit_rates(posterior.months, truth)
    print(f"learned from 200: 50 % {half.exact:.3f}, 90 % {most.exact:.3f}")  # noqa: T201 - for -s
    assert most.exact >= 0.86
    assert most.printed >= most.exact


def test_a_central_range_interpolates() -> None:
    points = np.array([0.0, 2.0, 4.0, 6.0])
    assert central(points, np.full(4, 0.25), 0.5) == pytest.approx((1.0, 5.0))


def test_a_tabulated_change_over_is_constant_outside() -> None:
    change = LearnedTransition(100, (0.1, 0.5, 0.9))
    assert happened(change, np.array([0, 100, 101, 102, 500])).tolist() == [0.1, 0.1, 0.5, 0.9, 0.9]
    with pytest.raises(ModelError, match="shares of one"):
        LearnedTransition(100, (0.1, 1.5))
    with pytest.raises(ModelError, match="shares of one"):
        LearnedTransition(100, ())


def test_a_model_takes_a_tabulated_change_over() -> None:
    model = pots_model(0.8)
    one = model.features[0]
    months = np.arange(model.completion.first - 80, model.completion.last + 80)
    curve = happened(one.transitions[0], months)
    table = LearnedTransition(int(months[0]), tuple(curve.tolist()))
    other = with_curves(model, {one.name: (table, *one.transitions[1:])})  # type: ignore[arg-type]
    seen = (FeatureSeen(one.name, one.variants[1]),)
    assert infer(other, seen).months == pytest.approx(infer(model, seen).months, abs=1e-12)
