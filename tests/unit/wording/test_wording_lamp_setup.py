"""The lamp, the panel and the plan of a setup, told from numbers."""

import pytest

from heelstamp.luminescence.panel import State
from heelstamp.units import Quantity
from heelstamp.wording import about_lamp, about_setup


def test_a_day_under_the_lamp_ends_with_what_is_left_or_with_no_more() -> None:
    left = about_lamp.day.say(
        day="2026-11-04", minutes=12.0, received=7200.0, share=0.72, left_min=4.66, over=False
    )
    assert left == "2026-11-04: 12.0 min, 7200 J/m², 72 % of the limit; 4.7 min left."
    over = about_lamp.day.say(
        day="2026-11-04", minutes=20.0, received=12000.0, share=1.2, left_min=0.0, over=True
    )
    assert over.endswith("120 % of the limit; over the limit: no more today.")


@pytest.mark.parametrize("state", [one.value for one in State])
def test_every_state_of_the_panel_has_its_advice(state) -> None:
    assert about_lamp.panel_advice.say(state=state)
    told = about_lamp.panel_day.say(
        day="2026-11-04", frame="F7", state=state, because="it fell", uncertainty=0.02
    )
    assert told.startswith("2026-11-04, frame F7: ")
    assert ("(± 0.02)" in told) == (state != "cannot compare")


def test_moves_are_told_with_their_way_and_without_sign() -> None:
    down = about_setup.saddles.say(side="treble", move=Quantity(-0.42, "mm", 0.05), rod_turned=True)
    assert down == ("Saddles, treble, once the relief is at its target: down by 0.42 ± 0.05 mm.")
    fore = about_setup.intonation.say(
        string="string 3", off=Quantity(-6.0, "cent", 0.5), back=Quantity(-1.9, "mm", 0.2)
    )
    assert fore.endswith("saddle forward by 1.9 ± 0.2 mm.")


def test_the_truss_rod_is_turned_in_one_step_or_left_with_its_reasons() -> None:
    step = about_setup.rod.say(after_steps=False, act="turn", turns=-0.125, reasons=["Slowly."])
    assert step == "Truss rod: 0.125 turn slacker, one step. Slowly."
    kept = about_setup.rod.say(after_steps=True, act="leave", turns=0.0, reasons=["It fits."])
    assert kept == "Truss rod, after the steps recorded: leave. It fits."
    assert "are needed first" in about_setup.rod_not_turned.say(reasons=())


def test_a_nut_and_frets_are_not_touched_and_what_is_out_is_priced() -> None:
    nut = about_setup.nut_kept.say(odd=["slot 1"], unclear=["slot 6"], read=True)
    assert "Price a nut, keep this one. Too close to call: slot 6." in nut
    assert "not read" in about_setup.nut_kept.say(odd=[], unclear=[], read=False)
    assert "held at: open, 3." in about_setup.frets_kept.say(buzzing=[0, 3])
    assert about_setup.strings_caution.say(pull_n=None).startswith("At pitch: goggles on")
