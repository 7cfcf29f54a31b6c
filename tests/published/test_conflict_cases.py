"""Two stories for the conflicts of two published dating cases.

The cases and their answers (`dating_cases/expected_*.json`) come from an independent slow
implementation that never saw this code (see ``test_dating_cases``). Its posterior of part states
and its leave-one-out figures give parts of the answer here: the shares of a state's two stories
add up to the state's probability, and the shares of the stories in which an observation is a
mistake to e x floor / P(observation | others). Case 03 is a neck from an older instrument, case 05
a body with a factory variant ten years too old on its bridge and two pots of left-over stock.
"""

import math

import pytest
from test_dating_cases import program, read

from heelstamp.dating import (
    CompiledModel,
    Evidence,
    Inspection,
    infer,
    mark_outcomes,
    sign_outcomes,
    surprises,
)
from heelstamp.dating.explanations import Conflict, deciding, error_and_floor, explain
from heelstamp.dating.questions import Question, questions
from heelstamp.dating.second_look import second_look

NECK_MARK = 15
POCKET = 16
SADDLES = 9
ALLOWED = 1e-9


def asked(name: str) -> tuple[CompiledModel, Evidence, tuple[Question, ...]]:
    case = read("case", name)
    compiled = CompiledModel(program().model_of(case))
    evidence = program().evidence_of(case)
    posterior = infer(compiled, evidence)
    return (
        compiled,
        evidence,
        questions(compiled, evidence, posterior, surprises(compiled, evidence)),
    )


def check_against_answers(name: str, conflict: Conflict, part: str) -> None:
    expected = read("expected", name)
    for state, p in expected["part_states"][part].items():
        told = math.fsum(s.share for s in conflict.stories if s.states[part] == state)
        assert told == pytest.approx(p, abs=ALLOWED)
    assert math.fsum(one.share for one in conflict.stories) == pytest.approx(1, abs=ALLOWED)


def check_mistake(
    name: str, compiled: CompiledModel, evidence: Evidence, conflict: Conflict, place: int
) -> None:
    alone = read("expected", name)["leave_one_out"][place]
    assert alone["observation"] == place
    error, floor = error_and_floor(compiled, evidence[place])
    mistaken = math.fsum(s.share for s in conflict.stories if place in s.mistaken)
    assert mistaken == pytest.approx(error * floor / alone["predictive_probability"], rel=1e-6)


def test_an_older_neck_comes_from_another_instrument_or_its_mark_was_misread() -> None:
    compiled, evidence, found = asked("03")
    assert found == (Question(("neck",), (NECK_MARK,)),)
    conflict = explain(compiled, evidence, found[0])
    check_against_answers("03", conflict, "neck")
    check_mistake("03", compiled, evidence, conflict, NECK_MARK)
    assert (conflict.first.states["neck"], conflict.first.mistaken) == (
        "from_another_instrument",
        (),
    )
    assert (conflict.second.states["neck"], conflict.second.mistaken) == ("original", (NECK_MARK,))
    assert conflict.odds > 1000
    assert conflict.likelihood_ratio > 1000
    # mark and features apart, the odds fall: old features speak for another instrument too
    bare = tuple(one for place, one in enumerate(evidence) if place not in (16, 17, 18))
    less = explain(compiled, bare, Question(("neck",), (NECK_MARK,)))
    assert less.first.states["neck"] == "from_another_instrument"
    assert less.second.mistaken == (NECK_MARK,)
    assert 1 < less.odds < conflict.odds / 1000


def test_the_heel_and_the_neck_pocket_decide_about_the_neck() -> None:
    """The pocket was seen in the case; here it is left to look at."""
    compiled, evidence, _ = asked("03")
    left = tuple(one for place, one in enumerate(evidence) if place != POCKET)
    conflict = explain(compiled, left, Question(("neck",), (NECK_MARK,)))
    looks = [
        *program().inspections_of(read("case", "03"), compiled.model),
        Inspection("neck pocket", sign_outcomes(compiled.model, "neck_pocket_fit")),
        Inspection("heel, read again", mark_outcomes(compiled.model, "neck", 0.01), 0.5),
    ]
    ranked = [one.inspection for one in deciding(compiled, left, conflict, looks)]
    about_the_neck = {"heel, read again", "neck pocket", "look at end grain of board"}
    assert set(ranked[:3]) == about_the_neck
    again = second_look(compiled, left, conflict, NECK_MARK)
    assert again is not None
    by_name = {one.inspection: one.bits for one in deciding(compiled, left, conflict, looks)}
    assert again.bits == pytest.approx(by_name["heel, read again"], abs=1e-9)
    assert again.bits > 100 * by_name["UV lamp"]


def test_the_odd_saddles_of_case_05() -> None:
    compiled, evidence, found = asked("05")
    assert found == (Question(("bridge",), (SADDLES,)),)
    conflict = explain(compiled, evidence, found[0])
    if read("expected", "05")["leave_one_out"] is not None:
        check_mistake("05", compiled, evidence, conflict, SADDLES)
    check_against_answers("05", conflict, "bridge")
    assert (conflict.first.states["bridge"], conflict.first.mistaken) == ("original", (SADDLES,))
    assert (conflict.second.states["bridge"], conflict.second.mistaken) == ("later_replacement", ())
    assert 5 < conflict.odds < 20
    again = second_look(compiled, evidence, conflict, SADDLES)
    assert again is not None
    looks = program().inspections_of(read("case", "05"), compiled.model)
    assert again.bits > max(one.bits for one in deciding(compiled, evidence, conflict, looks))


def test_nothing_of_case_01_calls_for_two_stories() -> None:
    assert asked("01")[2] == ()
