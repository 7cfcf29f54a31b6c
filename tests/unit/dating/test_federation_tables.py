"""Tables of single shops: they add up to the joined census, and say no more than one look may."""

import numpy as np
import pytest

from fakes.federated_census import GROUPS, NAMES, SPAN, drawn, shops_of, wherry
from heelstamp.dating.change_quadrature import CurveGrid
from heelstamp.dating.federation.joining import product
from heelstamp.dating.federation.tables import (
    CENTRES_APART,
    blurred_months,
    can_be_exchanged,
    in_nats,
    in_steps,
    learned_from,
    most_of_one_look,
    prior_of,
    tabulated,
)
from heelstamp.dating.learning import learn_features
from heelstamp.dating.teaching import FeatureGroup

SIZES = (12, 31, 20, 47)
SOME = GROUPS[2::4]  # one of them read from the serial number


def grid() -> CurveGrid:
    return CurveGrid(wherry().completion, SPAN, CENTRES_APART)


def test_three_rounds_of_tables_are_learning_from_the_joined_census() -> None:
    shops = shops_of(SIZES, 3)
    prior, held = prior_of(grid()), None
    for rounds in (1, 2, 3):
        tables = [tabulated(wherry(), one, SOME, SPAN, held=held) for one in shops]
        joined = learn_features(
            wherry(),
            [row for shop in shops for row in shop],
            SOME,
            SPAN,
            sweeps=rounds,
            least=1,
            step=CENTRES_APART,
        )
        held = {}
        for group, whole in zip(SOME, joined, strict=True):
            posterior = product([one[group].log for one in tables if group in one], prior)
            assert np.abs(posterior - whole.changes[0].posterior).max() < 1e-9
            held[group.names[0]] = (learned_from(grid(), posterior).transition,)
            assert held[group.names[0]] == whole.transitions


def test_whole_steps_move_no_centre_by_more_than_a_fiftieth_of_a_month() -> None:
    tables = [tabulated(wherry(), one, GROUPS, SPAN) for one in shops_of(SIZES, 3)]
    prior = prior_of(grid())
    for group in GROUPS:
        exact = [one[group].log for one in tables if group in one]
        sent = [in_nats(in_steps(one)) for one in exact]
        assert all(one.max() == 0 for one in sent)
        a, b = (learned_from(grid(), product(one, prior)) for one in (exact, sent))
        assert abs(a.centre_mean - b.centre_mean) <= 0.02


def test_no_look_says_more_than_the_edition_lets_it() -> None:
    features = {one.name: one for one in wherry().features}
    assert most_of_one_look(features["f12"]) == pytest.approx(5.697, abs=5e-4)
    largest = 0.0
    for seen in shops_of((40,), 9)[0]:
        for group, one in tabulated(wherry(), [seen], GROUPS, SPAN).items():
            most = most_of_one_look(features[group.names[0]])
            assert np.ptp(one.log) <= most + 1e-12
            largest = max(largest, np.ptp(one.log) / most)
    assert largest > 0.9  # the bound is not slack


def test_a_variant_that_is_no_makers_is_silent() -> None:
    from heelstamp.dating import FeatureSeen

    rows = shops_of((30,), 4)[0]
    other = [
        tuple(
            FeatureSeen(one.feature, "other")
            if isinstance(one, FeatureSeen) and one.feature == "f12"
            else one
            for one in seen
        )
        for seen in rows
    ]
    group = GROUPS[NAMES.index("f12")]
    assert group not in tabulated(wherry(), other, GROUPS, SPAN)
    assert set(tabulated(wherry(), rows, GROUPS, SPAN)[group].variants.tolist()) <= {0, 1}


def test_what_was_believed_of_the_features_does_not_enter() -> None:
    from heelstamp.dating.learning import with_curves
    from heelstamp.dating.model import LearnedTransition

    believed = with_curves(
        wherry(), {name: (LearnedTransition(SPAN.first + 30, (0.2, 0.9)),) for name in NAMES}
    )
    rows = shops_of((15,), 4)[0]
    one, other = (tabulated(model, rows, GROUPS, SPAN) for model in (wherry(), believed))
    assert [a.log.tobytes() for a in one.values()] == [b.log.tobytes() for b in other.values()]


def test_several_change_overs_and_passing_batches_are_not_exchanged() -> None:
    model = wherry()
    told = {one.name: can_be_exchanged(one) for one in model.features}
    assert told["f12"]
    assert not told["p2"]
    several = next(name for name in told if name.startswith("g1@"))
    assert not told[several]
    with pytest.raises(ValueError, match="one change-over"):
        tabulated(model, [drawn(1, 1)[0].seen], [FeatureGroup((several,))], SPAN)


def test_blurred_dates_gain_the_variance_and_keep_their_sum() -> None:
    """The variance of a sum of independent amounts is the sum of their variances."""
    months = np.arange(400.0)
    date = np.exp(-0.5 * ((months - 200) / 4) ** 2)
    date /= date.sum()
    (blurred,) = blurred_months(date[None, :], 6.0)
    assert blurred.sum() == pytest.approx(1, abs=1e-12)
    assert blurred @ (months - 200) ** 2 == pytest.approx(4**2 + 6**2, rel=1e-9)
    at_the_end = blurred_months(np.eye(400)[[0, 399]], 6.0)
    assert at_the_end.sum(axis=1) == pytest.approx(1, abs=1e-12)
