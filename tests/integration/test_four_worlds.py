"""Printed ranges and words in worlds of other mechanisms than the model's, by another hand.

The goals are the project's own. The samples are small here, so each bound leaves three standard
errors of its sample; `benchmarks/four_worlds.py` draws as many as wanted. The world of instruments
put together from several misses every goal, as docs/methods/dating.md tells with its figures; what
is held here is that the others do not suffer for it.
"""

import ast
from functools import cache
from pathlib import Path

import pytest

from fakes.hero_stages import compiled_wherry, guitar_tree, wherry
from fakes.lives import scored
from fakes.lives.printed import print_many
from fakes.lives.scored import A_SHOP, Outcome, Share, draw, held, outcomes, true_words
from heelstamp.casework.dating import date_instrument
from heelstamp.casework.doubts import examine_sensitivity
from heelstamp.casework.papers.said import what_is_said
from heelstamp.reference.tables import mark_context
from heelstamp.shop.subjects import names_of
from heelstamp.units import Period

SEED = 20
EACH = 16
"""Instruments a world, each of a shop of its own, so that they are independent."""
ERRORS = 3.0
LIVES = Path(scored.__file__).parent
MECHANISM = ("habits", "factory", "owners", "mechanisms", "examiner")


WORLDS = ("swap alone", "harness whole", "refinished", "untouched")


@cache
def all_worlds() -> list[Outcome]:
    drawn = [draw(name, A_SHOP * at, SEED, wherry()) for name in WORLDS for at in range(EACH)]
    return outcomes(drawn, wherry(), compiled_wherry())


def of_world(world: str) -> list[Outcome]:
    return [one for one in all_worlds() if one.world == world]


def reaches(found: Share, goal: float) -> bool:
    return found.of > 0 and found.share + ERRORS * found.error >= goal


@pytest.mark.parametrize("world", WORLDS)
def test_ranges_and_words_hold_in_a_world_of_another_mechanism(world: str) -> None:
    found = of_world(world)
    very, probably = true_words(found, "very probably"), true_words(found, "probably")
    assert reaches(held(found), 0.88), held(found)
    assert reaches(very, 0.95), very
    assert reaches(probably, 0.75), probably


def test_a_bound_is_not_reached_by_a_guess() -> None:
    # the same ranges, ten years off, and every word turned round
    moved = [
        Outcome(one.world, one.shop, one.completed + 120, one.first, one.last, one.words)
        for one in of_world("untouched")
    ]
    assert not reaches(held(moved), 0.88)
    assert held(moved).of == held(of_world("untouched")).of


def test_many_at_once_are_printed_as_one_dossier_alone() -> None:
    chronology, tree, names = wherry(), guitar_tree(), names_of(wherry())
    states = [draw(world, 3, SEED, chronology).state for world in ("swap alone",)]
    for state, printed in zip(
        states, print_many(states, chronology, compiled_wherry()), strict=True
    ):
        finding = date_instrument(state, chronology, mark_context(), compiled_wherry())
        varied = examine_sensitivity(
            state,
            tree,
            chronology,
            mark_context(),
            finding=finding,
            names=names,
            compiled=compiled_wherry(),
        )
        alone = what_is_said(state, tree, names, finding.data(), varied.data())
        told = [(row.key, row.word, row.verdict, row.probability) for row in alone.rows]
        assert [(row.key, row.word, row.verdict, row.probability) for row in printed.rows] == told
        ninety = finding.completion.interval["90"]
        assert printed.interval == (None if ninety is None else Period.parse(list(ninety)))


def test_an_instrument_is_drawn_the_same_in_any_order() -> None:
    first = draw("mixture", 7, SEED, wherry())
    draw("mixture", 2, SEED, wherry())
    again = draw("mixture", 7, SEED, wherry())
    assert again.state.observations == first.state.observations
    assert draw("mixture", 7, SEED + 1, wherry()).state.observations != first.state.observations


@pytest.mark.parametrize("module", MECHANISM)
def test_lives_use_nothing_of_the_dating_model(module: str) -> None:
    tree = ast.parse((LIVES / f"{module}.py").read_text("utf-8"))
    named = {one.module for one in ast.walk(tree) if isinstance(one, ast.ImportFrom)}
    named |= {a.name for one in ast.walk(tree) if isinstance(one, ast.Import) for a in one.names}
    allowed = ("heelstamp.chronology", "heelstamp.chronology.cross_checks", "heelstamp.units")
    assert not [one for one in named if (one or "").startswith("heelstamp") and one not in allowed]
