"""Tension of sets: shares of uncertainty, moves of tuning, refusals."""

import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.tension import change, note_hz, tension_n, tension_ratio, tuned

SCALE = Estimate.of(641.4, 0.5, "scale length")


def two_strings(factor: float, name: str):
    density = Estimate.of(1.0, 0.01, "density")
    masses = (
        (f"{name} a", density * (factor * 3e-4)),
        (f"{name} b", density * Estimate.of(factor * 6e-4, 6e-6, f"{name} gauge")),
    )
    return tuned(masses, ("E4", "B3"), SCALE)


def test_by_hand():
    assert tension_n(exact(3.2219e-4), exact(641.4), 329.628).value == pytest.approx(57.6, abs=0.05)


def test_a_tone_down_is_079_of_the_tension():
    assert tension_ratio(-2) == pytest.approx(0.7937, abs=5e-5)
    full = two_strings(1.0, "x")
    down = full.moved(-2)
    assert down.tension_n.value == pytest.approx(0.7937 * full.tension_n.value, rel=1e-4)
    assert down.strings[0].frequency_hz == pytest.approx(note_hz("D4"))
    # the ratio of a set to itself is exact: everything is shared
    assert change(full, down).ratio.uncertainty == pytest.approx(0.0, abs=1e-15)


def test_shared_density_and_scale_cancel_in_a_ratio_but_not_in_a_sum():
    first, second = two_strings(1.0, "x"), two_strings(0.8, "y")
    moved = change(first, second)
    assert moved.ratio.value == pytest.approx(0.8)
    relative = moved.ratio.uncertainty / moved.ratio.value
    apart = first.tension_n.uncertainty / first.tension_n.value
    assert apart > 0.01 > relative > 0.0
    assert moved.total_n.value == pytest.approx(second.tension_n.value - first.tension_n.value)


@pytest.mark.parametrize(
    ("note", "hz"),
    [("A4", 440.0), ("Bb2", 116.541), ("F#3", 184.997), ("B0", 30.868), ("e2", 82.407)],
)
def test_notes(note, hz):
    assert note_hz(note) == pytest.approx(hz, abs=5e-4)


def test_refusals():
    with pytest.raises(InputError, match="not a note"):
        note_hz("H2")
    with pytest.raises(InputError, match="a note for each string"):
        tuned((("a", exact(1e-3)),), ("E4", "B3"), SCALE)
    with pytest.raises(InputError, match="sounding length"):
        tuned((("a", exact(1e-3)),), ("E4",), exact(0.0))
    one = tuned((("a", exact(1e-3)),), ("E4",), SCALE)
    with pytest.raises(InputError, match="different numbers"):
        change(one, two_strings(1.0, "x"))
