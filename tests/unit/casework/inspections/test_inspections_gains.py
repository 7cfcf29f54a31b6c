"""Gains, widths and chances of a plan against outcomes computed one by one."""

import math
from dataclasses import replace
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.hero_stages import GUARD_DONE, OUTSIDE_SEEN, compiled_wherry, hero, option, plan, wherry
from heelstamp.casework.dating.procedure import gather
from heelstamp.casework.dating.translation import translate
from heelstamp.casework.inspections.measures import FINISH_STATES, finish_words, part_words
from heelstamp.dating import Evidence, FeatureSeen, Mark, Reading, SignSeen, central_interval, infer
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period
from heelstamp.wording.about_coat import finish_verdict
from heelstamp.wording.about_parts import DONOR, LATER, ORIGINAL, PERIOD, part_verdict
from heelstamp.wording.strength import NOT_DETERMINED, probability_word

BITS = 1e-4
STATES = (ORIGINAL, PERIOD, LATER, DONOR)


def evidence_of(until: str) -> Evidence:
    state = hero(until)
    found = translate(list(state.observations.values()), wherry(), mark_context())
    return gather(found)[0]


def told_of(part: str, posterior, *, outside: bool = False) -> tuple[Any, str]:
    """Verdict and word that would be printed of a part, by the wording functions."""
    names = compiled_wherry().model.part(part).states
    states = dict(zip(names, posterior.states[part][0].tolist(), strict=True))
    verdict, p = part_verdict(states, examined=True, outside=outside)
    return verdict, "" if verdict == "not determined" else probability_word(p)


def entropy(p) -> float:
    return -sum(one * math.log2(one) for one in p if one > 0)


def by_hand(
    until: str, outcomes: list[tuple[float, Evidence]], part: str, *, shut: bool
) -> dict[str, float]:
    """Bits on date and part, expected width, chances; one inference an outcome.

    *shut*: the part is seen by its type alone until a look of the outcome is made.
    """
    compiled, evidence = compiled_wherry(), evidence_of(until)
    grid = compiled.model.completion
    now = infer(compiled, evidence)
    ends_now = central_interval(now.months[0], grid, 0.9)
    found = {
        "date": entropy(now.months[0]),
        "part": entropy(now.states[part][0]),
        "width": 0.0,
        "range": 0.0,
        "words": 0.0,
        "mass": 0.0,
    }
    for share, seen in outcomes:
        then = infer(compiled, (*evidence, *seen))
        p = share * math.exp(then.log_evidence[0] - now.log_evidence[0])
        ends = central_interval(then.months[0], grid, 0.9)
        found["date"] -= p * entropy(then.months[0])
        found["part"] -= p * entropy(then.states[part][0])
        found["width"] += p * len(ends)
        found["range"] += p * (ends != ends_now)
        told_now = told_of(part, now, outside=shut)
        found["words"] += p * (told_of(part, then, outside=shut and not seen) != told_now)
        found["mass"] += p
    return found


def agree(
    until: str,
    id_: str,
    part: str,
    outcomes: list[tuple[float, Evidence]],
    of=None,
    *,
    shut: bool = False,
) -> None:
    wanted = by_hand(until, outcomes, part, shut=shut)
    assert wanted["mass"] == pytest.approx(1, abs=1e-9)
    one = option(of or plan(hero(until)), id_)
    assert one.gain.date_bits == pytest.approx(wanted["date"], abs=BITS)
    assert one.gain.parts[part] == pytest.approx(wanted["part"], abs=BITS)
    assert one.gain.months[1] == pytest.approx(wanted["width"], abs=1e-6)
    assert one.chance.range == pytest.approx(wanted["range"], abs=1e-9)
    assert one.chance.parts[part] == pytest.approx(wanted["words"], abs=1e-9)


def test_a_sign_alone() -> None:
    outcomes = [(1.0, (SignSeen("bridge_ghost_line", one),)) for one in ("agrees", "disagrees")]
    agree(OUTSIDE_SEEN, "bridge_outline", "bridge", outcomes)


def test_a_feature_alone_with_its_legibility() -> None:
    variants = ("plum, tan outside", "slate, olive outside", "other")
    rows = [
        msgspec.structs.replace(row, readable=0.6) if row.id == "case_lining" else row
        for row in wherry().inspections
    ]
    chronology = replace(wherry(), inspections=tuple(rows))
    outcomes = [(0.6, (FeatureSeen("g3", one),)) for one in variants] + [(0.4, ())]
    state = hero(OUTSIDE_SEEN, without=("g3",))
    found = plan(state, chronology)
    compiled = compiled_wherry()
    evidence = gather(translate(list(state.observations.values()), wherry(), mark_context()))[0]
    now = infer(compiled, evidence)
    wanted = entropy(now.states["case"][0])
    for share, seen in outcomes:
        then = infer(compiled, (*evidence, *seen))
        p = share * math.exp(then.log_evidence[0] - now.log_evidence[0])
        wanted -= p * entropy(then.states["case"][0])
    assert option(found, "case_lining").gain.parts["case"] == pytest.approx(wanted, abs=BITS)


def test_the_neck_with_mark_pocket_and_fit_over_its_whole_product() -> None:
    """Three looks of the neck's opening (the marks cut by hand) over all their products."""
    keep = {"heel_mark", "pocket_fit"}
    rows = []
    for row in wherry().inspections:
        if row.id == "heel_mark":
            only = [one for one in row.reveals if one.kind == "mark"]
            rows.append(msgspec.structs.replace(row, reveals=only))
        elif row.id in keep:
            rows.append(row)
    chronology = replace(wherry(), inspections=tuple(rows))
    found = plan(hero(GUARD_DONE), chronology)
    cells = cells_of_the_neck()
    outcomes: list[tuple[float, Evidence]] = []
    for fit in ("matched", "unclear", "mismatched"):
        seen = SignSeen("neck_pocket_fit", fit)
        outcomes.append((0.15, (seen,)))
        outcomes += [(0.85, (seen, Mark("neck", (Reading(one, 1.0),), 0.01))) for one in cells]
    agree(GUARD_DONE, "open:neck", "neck", outcomes, found, shut=True)
    assert option(found, "open:neck").outcomes == len(outcomes)


def cells_of_the_neck() -> list[Period]:
    """The months that the plan tells apart for a mark on the neck, found from its definition.

    Completion lies between its 1 % and 99 % months; 95 % of a neck's lag reach back from there;
    single months within, three years on either side, all else as one.
    """
    compiled = compiled_wherry()
    months = infer(compiled, evidence_of(GUARD_DONE)).months[0]
    grid, marks = compiled.model.completion, compiled.model.marks
    reached = list(np.cumsum(months))
    low = grid.first + next(i for i, p in enumerate(reached) if p >= 0.01)
    high = grid.first + next(i for i, p in enumerate(reached) if p >= 0.99)
    lag = list(np.cumsum(compiled.lag_of("neck")))
    low -= next(i for i, p in enumerate(lag) if p >= 0.95)
    assert high - low + 1 <= 30
    fine = [Period(month, month) for month in range(low, high + 1)]
    after = [Period(high + 1 + 12 * k, high + 12 + 12 * k) for k in range(3)]
    before = [Period(low - 12 * (k + 1), low - 12 * k - 1) for k in reversed(range(3))]
    rest_before = Period(marks.first, before[0].first - 1)
    rest_after = Period(after[-1].last + 1, marks.last)
    return [rest_before, *before, *fine, *after, rest_after]


def shares(count: int):
    return st.lists(st.floats(0.0, 1.0), min_size=count, max_size=count).filter(
        lambda row: sum(row) > 0.01
    )


@settings(deadline=None)
@given(shares(4), st.sampled_from([0.5, 2.0, 8.0, 40.0]), st.integers(0, 3))
def test_words_of_parts_are_those_of_the_wording(row, lift: float, at: int) -> None:
    row[at] *= lift
    states = np.array([row]) / sum(row)
    second = np.array([[0.9, 0.05, 0.03, 0.02]])
    both = part_words(np.vstack([states, second]), STATES)

    def word(p):
        verdict, probability = part_verdict(dict(zip(STATES, p, strict=True)), examined=True)
        told = probability_word(min(1.0, probability))
        return verdict, told if verdict != "not determined" else NOT_DETERMINED

    same = word(states[0].tolist()) == word(second[0].tolist())
    assert (both[0] == both[1]) == same


@settings(deadline=None)
@given(shares(4), st.sampled_from([0.5, 2.0, 8.0, 40.0]), st.integers(0, 3), st.booleans())
def test_words_of_the_coating_are_those_of_the_wording(
    row, lift: float, at: int, covered: bool
) -> None:
    row[at] *= lift
    states = np.array([row]) / sum(row)
    others = np.array([[0.85, 0.1, 0.03, 0.02], [0.01, 0.97, 0.01, 0.01], [0.0, 0.0, 0.1, 0.9]])
    found = finish_words(np.vstack([states, others]), np.array([covered, True, True, True]))

    def word(p, seen: bool):
        verdict, probability = finish_verdict(
            dict(zip(FINISH_STATES, p, strict=True)), covered_areas_examined=seen
        )
        told = probability_word(min(1.0, probability))
        return verdict, told if verdict != "not determined" else NOT_DETERMINED

    for place, other in enumerate(others, 1):
        same = word(states[0].tolist(), covered) == word(other.tolist(), True)
        assert (found[0] == found[place]) == same


def test_the_coating_has_the_states_that_the_chronology_gives_it() -> None:
    assert compiled_wherry().model.part("finish").states == FINISH_STATES
