"""No part that nobody saw gets a word of strength, whatever its states and the owner's no."""

import re
from itertools import product

import pytest

from heelstamp.wording import Grounds
from heelstamp.wording.about_closed import leave_refused
from heelstamp.wording.about_coat import finish_state, finish_verdict
from heelstamp.wording.about_parts import part_state, part_verdict

STATES = ("original", "period_replacement", "later_replacement", "from_another_instrument")
FINISHES = ("original", "touched_up", "old_refinish", "recent_refinish")
PRIOR = dict(zip(STATES, (0.94, 0.02, 0.02, 0.02), strict=True))
SHARES = (0.25, 0.5, 0.79, 0.85, 0.94, 0.97, 0.9997)
WAYS = ((), ("screw heads of the neck plate screws, 2 of 4 look turned",))
REFUSED = ((), ("take neck off",))
ACTS = ("take neck off",)
STRENGTH = re.compile(r"\b(very )?probably\b")
CASES = [
    {name: p if name == state else (1 - p) / 3 for name in STATES}
    for state, p in product(STATES, SHARES)
]


@pytest.mark.parametrize("states", CASES)
@pytest.mark.parametrize("ways", WAYS)
@pytest.mark.parametrize("refused", REFUSED)
def test_what_nobody_saw_has_a_figure_and_no_word(
    states: dict[str, float], ways: tuple[str, ...], refused: tuple[str, ...]
) -> None:
    assert part_verdict(states, examined=False) == ("not examined", 0.0)
    said = part_state(
        "part:neck",
        Grounds(),
        part="neck",
        states=states,
        priors=PRIOR,
        examined=False,
        ways=ways,
        acts=ACTS,
        refused=refused,
    )
    for text in (said.text, said.plain):
        assert text.startswith("The neck was not examined")
        assert not STRENGTH.search(text)
        assert ("Leave was refused: take neck off" in text) == bool(refused)
        assert all(way in text for way in ways)
    assert said.strength == "not examined"
    assert "%" in said.text
    assert not re.search(r"\d %", said.plain)


@pytest.mark.parametrize("states", CASES)
@pytest.mark.parametrize("refused", REFUSED)
def test_what_was_seen_while_its_way_was_shut_is_never_called_original(
    states: dict[str, float], refused: tuple[str, ...]
) -> None:
    verdict, _ = part_verdict(states, examined=True, outside=True)
    assert verdict != "original"
    said = part_state(
        "part:neck",
        Grounds(("f05",)),
        part="neck",
        states=states,
        priors=PRIOR,
        examined=True,
        outside=True,
        acts=ACTS,
        refused=refused,
    )
    assert not re.search(r"probably original|fitted at first completion", said.text)
    if verdict == "period-correct":
        assert "Whether it was fitted first was not examined" in said.text
        assert ("Leave was refused: take neck off" in said.text) == bool(refused)
        assert ("not done: take neck off" in said.text) == (not refused)


@pytest.mark.parametrize("state", STATES)
def test_seen_and_open_is_as_before(state: str) -> None:
    states = {name: 0.97 if name == state else 0.01 for name in STATES}
    verdict, p = part_verdict(states, examined=True)
    if state == "period_replacement":
        assert (verdict, round(p, 2)) == ("period-correct", 0.98)
    else:
        named = {"original": "original", "later_replacement": "later"}
        assert (verdict, p) == (named.get(state, "from another"), 0.97)


def test_every_refused_act_is_named() -> None:
    said = leave_refused("act:refused", Grounds(("c1", "c2")), acts=["take neck off", "lift guard"])
    assert said.text == "Leave was refused, and it was not done: take neck off; lift guard."


def test_the_finish_is_one_statement() -> None:
    states = dict(zip(FINISHES, (0.27, 0.728, 0.001, 0.001), strict=True))
    priors = dict(zip(FINISHES, (0.755, 0.16, 0.045, 0.04), strict=True))
    places = [("darker, hard rim", 0.66), ("darker, soft rim", 0.05), ("streaked", 0.04)]
    assert finish_verdict(states, covered_areas_examined=True)[0] == "first finish, touched or not"
    said = finish_state(
        "part:finish",
        Grounds(("uv",)),
        states=states,
        priors=priors,
        covered_areas_examined=True,
        places=places,
    )
    assert "very probably the first one" in said.text
    assert "not determined: touched up 73 %, untouched 27 %" in said.text
    assert "darker, hard rim 66 %; 2 other places below 10 % each" in said.text
    shut = finish_state(
        "part:finish",
        Grounds(("uv",)),
        states=states,
        priors=priors,
        covered_areas_examined=False,
        places=places,
    )
    assert not STRENGTH.search(shut.text)


@pytest.mark.parametrize("best", FINISHES)
@pytest.mark.parametrize("p", SHARES)
def test_no_word_for_a_finish_without_covered_areas(best: str, p: float) -> None:
    states = {name: p if name == best else (1 - p) / 3 for name in FINISHES}
    assert finish_verdict(states, covered_areas_examined=False)[0] == "not determined"
    verdict, strength = finish_verdict(states, covered_areas_examined=True)
    if verdict == "first finish, touched or not":
        assert max(states.values()) < 0.8 <= strength
