"""Fret places by three rules on three scales, `reference/tables/fret_positions.csv`.

Source: the arithmetic of the rules; a luthier's lecture page quotes 17.817. The rule of 18 puts the
twelfth fret of 647.7 mm at 321.495 mm.
"""

import pytest

from heelstamp.mechanics.frets import FretRule, fret_place, pitch_error_cents
from heelstamp.reference.tables import load

ROWS = load("fret_positions")


def test_all_places_of_the_table():
    assert len(ROWS) == 75
    for row in ROWS:
        scale, fret = float(row["scale_mm"]), int(row["fret"])
        for rule, column in (
            (FretRule.EQUAL, "equal_tempered_mm"),
            (FretRule.EIGHTEEN, "rule_of_18_mm"),
            (FretRule.SEVENTEEN_817, "rule_17_817_mm"),
        ):
            assert fret_place(scale, fret, rule) == pytest.approx(float(row[column]), abs=6e-5)


def test_pitch_of_the_rule_of_18():
    for row in ROWS:
        scale, fret = float(row["scale_mm"]), int(row["fret"])
        error = pitch_error_cents(
            scale, fret_place(scale, fret), fret_place(scale, fret, FretRule.EIGHTEEN)
        )
        assert error == pytest.approx(float(row["rule_of_18_pitch_error_cents"]), abs=6e-4)


def test_rule_of_18_at_the_twelfth_fret():
    assert fret_place(647.7, 12, FretRule.EIGHTEEN) == pytest.approx(321.495, abs=5e-4)


def test_the_exact_constant_makes_an_octave():
    constant = 1 / (1 - 2 ** (-1 / 12))
    assert constant == pytest.approx(17.817153745, abs=1e-9)
    assert fret_place(1000.0, 12) == pytest.approx(500.0)
