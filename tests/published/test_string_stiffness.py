"""Stiffness and intonation against worked numbers.

Inharmonicity: a piano-tuning handbook (sec. 4.5, as quoted in a technicians' list, 2002) gives, for
n = 1, 3.4e13 d²/(f² L⁴) cent with d and L in cm. Intonation: the model of Varieschi and Gower, *Am.
J. Phys.* 78 (2010) 47; the numbers are recomputed in exact geometry (nut and fret tops level,
action 1.6 mm at the twelfth fret of 647.7 mm, E = 205 GPa), not taken from the paper's tables.
"""

import math

import pytest

from heelstamp.mechanics.intonation import FrettedString, extension_mm, inharmonicity, set_back_mm

SCALE = 647.7


@pytest.mark.parametrize(
    ("gauge_in", "hz", "b"), [(0.010, 329.6276, 1.328454e-5), (0.017, 195.9977, 1.085899e-4)]
)
def test_inharmonicity(gauge_in, hz, b):
    core = gauge_in * 25.4
    tension = 7833 * math.pi / 4 * (core * 1e-3) ** 2 * (2 * SCALE * 1e-3 * hz) ** 2
    found = inharmonicity(2.0e11, core, tension, SCALE)
    assert found == pytest.approx(b, rel=1e-5)
    cents = 600 * math.log2(1 + found)
    handbook = 3.4e13 * (core / 10) ** 2 / (hz**2 * (SCALE / 10) ** 4)
    assert cents == pytest.approx(handbook, rel=0.005)


def test_extension_when_pressed():
    longer = extension_mm(SCALE, 12, nut_mm=0.0, fret_mm=0.0, saddle_mm=3.2)
    assert longer == pytest.approx(0.00790456, rel=1e-4)


@pytest.mark.parametrize(
    ("gauge_in", "tension", "rise", "cents", "back"),
    [(0.010, 72.1175, 0.126768, 1.52024, 0.569), (0.017, 73.6874, 0.366359, 4.29301, 1.612)],
)
def test_rise_and_set_back(gauge_in, tension, rise, cents, back):
    string = FrettedString(SCALE, tension, gauge_in * 25.4, 2.05e11)
    longer = extension_mm(SCALE, 12, nut_mm=0.0, fret_mm=0.0, saddle_mm=3.2)
    assert string.tension_rise_n(longer) == pytest.approx(rise, rel=1e-4)
    assert string.shift(12, longer).stretch == pytest.approx(cents, abs=1e-3)
    assert set_back_mm(SCALE, tension, rise) == pytest.approx(back, abs=1e-3)
    # with that set-back the octave is true but for stiffness
    cured = FrettedString(SCALE, tension, gauge_in * 25.4, 2.05e11, set_back_mm=back)
    shift = cured.shift(12, longer)
    assert shift.stretch + shift.length == pytest.approx(0.0, abs=0.02)
