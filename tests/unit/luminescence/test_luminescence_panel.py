"""Lamp drift from the panel: worked numbers and refusals."""

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.luminescence import GreyStandard
from heelstamp.luminescence.panel import PanelReading, State, drift, measure_panel

BOX = (100, 100, 300, 260)
GREY = GreyStandard((400, 100, 460, 160), 0.2)


def code(linear):
    v = np.asarray(linear, float)
    return np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)


def frame(glow=(0.20, 0.30, 0.10), stray=(0.0, 0.0, 0.0), noise=0.0, seed=1):
    """A panel of reflectance 0.5 that glows, and a grey of 0.2 that does not."""
    image = np.zeros((400, 600, 3))
    image[80:280, 80:320] = np.array(glow) + 0.5 * np.array(stray)
    image[90:170, 390:470] = 0.2 * np.array(stray)
    image += noise * np.random.default_rng(seed).standard_normal(image.shape)
    return np.clip(code(np.clip(image, 0, 1)), 0, 1)


def test_glow_is_the_mean_less_the_panels_share_of_stray_light():
    # 8-bit codes near 0.02 stand 0.0005 apart, times 0.5 / 0.2
    got = measure_panel(frame(stray=(0.02, 0.01, 0.05)), BOX, reflectance=0.5, greys=[GREY])
    assert got.glow == pytest.approx((0.20, 0.30, 0.10), abs=0.0015)
    assert got.stray_known
    # 2 % of placement and 30 % of 0.010 taken away in red: hypot(0.0040, 0.0030) = 0.0050
    assert got.uncertainty[0] == pytest.approx(0.0050, abs=0.0003)


def test_without_a_standard_stray_light_stays_in_and_is_said():
    got = measure_panel(frame(stray=(0.02, 0.01, 0.05)), BOX)
    assert got.glow[0] == pytest.approx(0.21, abs=0.002)  # half an 8-bit step
    assert not got.stray_known


def reading(share=1.0, settings="2 s, f/8, ISO 200", doubt=0.02, stray=True):
    glow = tuple(share * v for v in (0.20, 0.30, 0.10))
    return PanelReading(glow, tuple(doubt * v for v in glow), settings, stray)


def test_worked_ratios():
    found = drift([reading(), reading(0.99), reading(0.90)])
    assert found.state is State.DRIFTED
    assert found.to_first == pytest.approx((0.90, 0.90, 0.90))
    # two readings known to 2 % each: 0.90 * 2 % * sqrt(2)
    assert found.to_first_uncertainty == pytest.approx((0.02546,) * 3, abs=1e-4)
    # median of 1 and 0.99 is 0.995
    assert found.to_rolling == pytest.approx((0.90 / 0.995,) * 3)


@pytest.mark.parametrize(
    ("share", "doubt", "state"),
    [
        (0.97, 0.02, State.STEADY),
        (1.04, 0.005, State.STEADY),
        (0.94, 0.005, State.DRIFTED),
        (1.09, 0.04, State.STEADY),
        (0.80, 0.04, State.DRIFTED),
        (0.80, 0.09, State.CANNOT),
    ],
)
def test_states_at_the_limits(share, doubt, state):
    assert drift([reading(doubt=doubt), reading(share, doubt=doubt)]).state is state


def test_one_channel_alone_is_a_drift():
    last = PanelReading((0.20, 0.30, 0.085), (0.004, 0.006, 0.0017), "2 s, f/8, ISO 200", True)
    found = drift([reading(), last])
    assert found.state is State.DRIFTED
    assert found.furthest == pytest.approx(0.85)


def test_a_slow_fade_is_seen_against_the_first_though_not_against_the_last_few():
    found = drift([reading(0.985**k) for k in range(10)])
    assert found.state is State.DRIFTED
    assert min(found.to_rolling) > 0.95


@pytest.mark.parametrize(
    ("series", "because"),
    [
        ([reading()], "no earlier photograph"),
        ([reading(), reading(settings="1 s, f/8, ISO 200")], "settings differ"),
        ([reading(settings=""), reading(settings="")], "not known"),
        ([reading(), reading(stray=False)], "one of the two photographs only"),
    ],
)
def test_what_cannot_be_compared_says_why(series, because):
    found = drift(series)
    assert found.state is State.CANNOT
    assert because in found.because


@pytest.mark.parametrize(
    ("image", "box", "told"),
    [
        (frame(), (100, 100, 110, 300), "a box outside"),
        (frame(), (100, 100, 700, 300), "a box outside"),
        (frame(glow=(1.0, 0.5, 0.2)), BOX, "clipped"),
        (frame(glow=(0.004, 0.003, 0.002)), BOX, "hardly glows"),
    ],
)
def test_what_cannot_be_measured_is_refused(image, box, told):
    with pytest.raises(InputError, match=told):
        measure_panel(image, box)
