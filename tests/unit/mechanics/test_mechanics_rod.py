"""The rod: steps, rest, and every reason to stop. Common practice, no source."""

import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate
from heelstamp.mechanics.rod import MOST_TURN, RodSign, RodStep, blade_fit, key_fit, rod_advice


def mm(value, error=0.03, name="r"):
    return Estimate.of(value, error, name)


TARGET = Estimate.of(0.25, 0.0, "target")


def advise(relief, **more):
    return rod_advice(mm(relief, name="now"), TARGET, tool_fit_recorded=True, **more)


def test_first_step_is_an_eighth_either_way():
    assert (advise(0.35).act, advise(0.35).turns) == ("turn", 0.125)
    assert advise(0.10).turns == -0.125
    assert "Rest 10 to 30 minutes" in " ".join(advise(0.35).reasons)


def test_near_enough_is_left():
    assert advise(0.28).act == "leave"
    assert advise(0.28).turns == 0.0


def test_no_turn_without_the_tool_measured():
    untold = rod_advice(mm(0.5), TARGET)
    assert untold.act == "stop"
    assert "caliper" in untold.reasons[0]


def test_later_steps_follow_the_rods_response_and_never_pass_a_quarter():
    step = RodStep(0.125, mm(0.80, 0.01, "a"), mm(0.70, 0.01, "b"))
    advice = advise(0.70, steps=(step,))
    assert advice.response_mm_turn.value == pytest.approx(0.8)
    assert (advice.turns, advice.steps_left) == (MOST_TURN, 3)
    near = advise(0.33, steps=(step,))
    assert near.turns == pytest.approx(0.1)


@pytest.mark.parametrize("sign", list(RodSign))
def test_every_sign_stops(sign):
    advice = advise(0.6, signs=(sign,))
    assert (advice.act, advice.turns) == ("stop", 0.0)
    assert advice.reasons


def test_a_rod_that_does_nothing_stops():
    still = RodStep(0.25, mm(0.60, 0.03, "a"), mm(0.60, 0.03, "b"))
    assert advise(0.60, steps=(still,)).act == "stop"


def test_a_larger_step_is_refused():
    with pytest.raises(InputError, match="quarter turn at most"):
        advise(0.5, steps=(RodStep(0.5, mm(0.6), mm(0.3)),))


@pytest.mark.parametrize(
    ("key", "fits"), [(5.55, True), (5.80, False), (5.40, False), (5.62, None)]
)
def test_key_and_drive(key, fits):
    found = key_fit(mm(5.50, 0.01, "drive"), mm(key, 0.01, "key"))
    assert found.fits is fits
    assert found.margin_mm == pytest.approx(5.60 - key)


@pytest.mark.parametrize(
    ("blade", "fits", "sign"),
    [
        (0.95, True, None),
        (0.80, False, RodSign.BLADE_LOOSE),
        (1.10, False, RodSign.TOO_LARGE),
        (0.89, None, None),
    ],
)
def test_blade_and_slot(blade, fits, sign):
    found = blade_fit(mm(1.00, 0.01, "slot"), mm(blade, 0.01, "blade"))
    assert found.fits is fits
    assert found.sign is sign
    assert found.play_mm.value == pytest.approx(1.00 - blade)
    assert found.margin_mm == pytest.approx(blade - 0.90)


def test_every_sign_ends_the_turning():
    for sign in RodSign:
        advice = advise(0.60, signs=(sign,))
        assert (advice.act, advice.turns) == ("stop", 0.0)
