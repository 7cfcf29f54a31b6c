"""Inharmonicity and note frequencies against published and worked numbers.

Sources stand in ``pitch_examples.toml`` beside this file; note frequencies are equal temperament on
A4 = 440 Hz (ISO 16:1975), 74 notes as tabled in ``note_frequencies_a440.csv``.
"""

import csv
import math
import tomllib
from pathlib import Path

import pytest

from heelstamp.acoustics import notes, stiff_string

HERE = Path(__file__).parent
CASES = tomllib.loads((HERE / "pitch_examples.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES["example"], ids=lambda case: f"{case['d_in']} in")
def test_stiffness_of_plain_strings(case):
    """Worked numbers; both forms, with and without tension, are the same physics."""
    d = case["d_in"] * 0.0254
    f0, length = case["f0_hz"], case["length_m"]
    b = stiff_string.inharmonicity(d, length, f0, case["modulus_pa"], case["density_kg_m3"])
    assert b == pytest.approx(case["b"], rel=1e-6)
    tension = case["density_kg_m3"] * math.pi * d * d / 4.0 * (2.0 * length * f0) ** 2
    again = stiff_string.inharmonicity_under_tension(d, length, tension, case["modulus_pa"])
    assert again == pytest.approx(b, rel=1e-12)
    if "cents_at_10" in case:
        assert stiff_string.stretch_cents(10, b) == pytest.approx(case["cents_at_10"], abs=2e-5)


@pytest.mark.parametrize(("key", "unit_m"), [("constant_cm", 0.01), ("constant_in", 0.0254)])
def test_the_handbook_constant_of_the_first_partial(key, unit_m):
    """The printed constants have two digits: B in cents = 1200/(2 ln 2) B for small B."""
    told = CASES["published"]
    b = stiff_string.inharmonicity(unit_m, unit_m, 1.0, told["modulus_pa"], told["density_kg_m3"])
    assert 1200.0 / (2.0 * math.log(2.0)) * b == pytest.approx(told[key], rel=0.01)


def test_every_tabled_note_frequency():
    with (HERE / "note_frequencies_a440.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 74
    for row in rows:
        midi = int(row["midi"])
        assert notes.midi_of(row["name"]) == midi
        assert notes.name_of(midi) == row["name"]
        assert notes.hz_of(midi) == pytest.approx(float(row["hz"]), abs=6e-7)
        assert notes.nearest(float(row["hz"])) == midi


def test_a4_is_the_standard_tuning_frequency():
    """ISO 16:1975: A4 = 440 Hz."""
    assert notes.hz_of(notes.midi_of("A4")) == 440.0
