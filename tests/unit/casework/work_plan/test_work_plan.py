"""Acts weighed against cost and harm, and a plan that the owner signed."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.casework.work_plan.describe import tell_plan
from heelstamp.casework.work_plan.document import parse_work_acts
from heelstamp.casework.work_plan.signing import plan_entries
from heelstamp.casework.work_plan.weighing import Standing, weigh_acts
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.errors import ConflictError, InputError
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.market import load_market
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.reference.work_acts import load_work_acts

INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
}
MIDDLE = 10_000.0
STATES = {"finish": {"original": 0.5, "old_refinish": 0.5}}
ONE = {
    "schema": "heelstamp/work-acts/1",
    "per_hour": 60,
    "act": [
        {
            "key": "dress",
            "label": "frets dressed",
            "does": [{"act": "dress frets", "part": "frets"}],
            "minutes": [60, 60, 60],
            "materials": 0,
            "reversible": "no",
            "basis": "invented",
            "moves": [{"grade": "frets", "steps": 2, "chance": 1.0}],
        }
    ],
}


def folded(tree: PartsTree, *rows: tuple[str, dict[str, Any]]) -> DossierState:
    folding = Folding(tree)
    for kind, body in (("instrument", INSTRUMENT), *rows):
        folding.add(kind, body, where=kind)
    return folding.state


def fitted(sd: float = 0.0) -> Any:
    """An instrument on a market whose coefficients are the bundled priors' means."""
    market = load_market()
    priors = market.priors()
    mean = np.array([9.0, *(priors[key].mean for key in EFFECTS)])
    covariance = np.diag([0.0, *(sd**2 for _ in EFFECTS)])
    fit = SimpleNamespace(coefficients=lambda: (mean, covariance))
    priced = SimpleNamespace(fit=fit, market=market, currency="USD")
    return SimpleNamespace(priced=priced, middle=MIDDLE, states=STATES)


def standing(tree: PartsTree, state: DossierState, on: Any = None) -> Standing:
    chronology = load_chronology("sallowby-wherry")
    table = load_stop_table()
    return Standing(state, tree, chronology, table, on, STATES)


def weigh(tree: PartsTree, *rows: tuple[str, dict[str, Any]], on: Any = None, acts: Any = None):
    state = folded(tree, *rows)
    return {
        one.key: one
        for one in weigh_acts(standing(tree, state, on), acts or load_work_acts(), seed=1)
    }


def grade(aspect: str, letter: str) -> tuple[str, dict[str, Any]]:
    return "grade", {"id": f"g-{aspect}", "grade": letter, "aspect": aspect, "reason": "seen"}


def test_doing_nothing_is_always_there_and_costs_and_changes_nothing(guitar: PartsTree) -> None:
    found = weigh(guitar)
    assert next(iter(found)) == "nothing"
    one = found["nothing"]
    assert (one.cost, one.spends, one.gain and one.gain.mean) == ((0.0, 0.0, 0.0), (), 0.0)


def test_a_grade_of_one_aspect_moves_the_price_by_its_share_of_the_mean(guitar: PartsTree) -> None:
    acts = parse_work_acts(ONE, where="acts")
    rows = (grade("frets", "D"), grade("finish", "B"))
    one = weigh(guitar, *rows, on=fitted(), acts=acts)["dress"]
    # worked by hand: two letters of one of two aspects, each letter 8 % in log
    assert one.gain is not None
    assert one.gain.mean == pytest.approx(MIDDLE * math.expm1(0.08), rel=1e-9)
    assert one.cost[1] == 60.0
    assert one.gain.covers == 1.0
    best = weigh(guitar, grade("frets", "A"), on=fitted(), acts=acts)["dress"]
    assert best.gain is not None
    assert best.gain.mean == 0.0  # there is no letter above A


def test_without_a_grade_or_a_price_no_sum_is_told(guitar: PartsTree) -> None:
    assert weigh(guitar, on=fitted())["dress"].wanting == ("a grade of the frets",)
    assert weigh(guitar)["refret"].wanting == ("a price: too few comparables",)
    assert weigh(guitar, on=fitted())["strings"].gain is None


def test_a_state_counts_as_often_as_the_part_is_in_it(guitar: PartsTree) -> None:
    acts = load_work_acts()
    one = weigh(guitar, on=fitted(), acts=acts)["overspray"]
    priors = load_market().priors()
    touched, refinished = priors["touched_up"].mean, priors["refinished"].mean
    # half of it was never refinished: there the act spoils with a chance of .6
    expected = MIDDLE * (
        0.5 * 0.6 * math.expm1(touched) + 0.5 * 0.25 * math.expm1(touched - refinished)
    )
    assert one.gain is not None
    assert one.gain.mean == pytest.approx(expected, abs=4 * MIDDLE * 0.4 / math.sqrt(4000))
    assert one.gain.low < 0 < one.gain.high


def test_uncertain_coefficients_widen_the_interval_and_the_same_record_gives_the_same(
    guitar: PartsTree,
) -> None:
    rows = (grade("frets", "D"),)
    sure = weigh(guitar, *rows, on=fitted())["refret"].gain
    unsure, again = (weigh(guitar, *rows, on=fitted(0.1))["refret"].gain for _ in range(2))
    assert sure is not None
    assert unsure is not None
    assert unsure.high - unsure.low > sure.high - sure.low
    assert unsure == again


def test_evidence_that_nobody_looked_at_is_told_and_keeps_an_act_from_being_advised(
    guitar: PartsTree,
) -> None:
    one = weigh(guitar, on=fitted())["rewire"]
    assert "joints of the pickup leads heated" in one.unlooked
    assert not one.pays
    state = folded(guitar)
    told = tell_plan(state, list(weigh(guitar, on=fitted()).values()), "USD", ground="model")
    (rewire,) = [row for row in told.acts if row.weighed.key == "rewire"]
    assert any("nobody has looked" in said.text for said in rewire.sentences)
    assert rewire.cautions
    assert "doing nothing is as good" in told.advice.text


def test_first_strings_stop_new_ones_and_are_kept(guitar: PartsTree) -> None:
    seen = {
        "id": "o1",
        "part": "strings",
        "kind": "sign",
        "status": "read",
        "sign": "strings_first_set",
        "outcome": "yes",
    }
    found = weigh(guitar, ("observation", seen))
    assert found["strings"].stopped is not None
    state = folded(guitar, ("observation", seen))
    told = tell_plan(state, list(found.values()), "USD", ground="model")
    assert told.strings.text.startswith("Keep the strings on")
    act = {"id": "t1", "act": "take strings off", "part": "strings", "reason": "r"}
    leave = {"id": "k1", "act": "take strings off", "granted": True, "by": "owner"}
    done = (("consent", leave), ("treatment", act | {"reversible": True}))
    off = folded(guitar, ("observation", seen), *done)
    late = tell_plan(off, list(found.values()), "USD", ground="model").strings.text
    assert late.startswith("The strings it came with are off; the record says")
    acts = load_work_acts()
    with pytest.raises(ConflictError, match="first set"):
        plan_entries(
            state,
            EntryStamp("p1", "", ""),
            acts,
            list(found.values()),
            chosen=acts.named("strings"),
            signed="2026-11-02",
            by="owner",
        )


def signed(tree: PartsTree, chosen: str) -> Folding:
    acts = load_work_acts()
    folding = Folding(tree)
    folding.add("instrument", INSTRUMENT, where="i")
    granted = {"id": "k1", "act": "dress frets", "granted": True, "by": "owner"}
    folding.add("consent", granted, where="k1")
    entries = plan_entries(
        folding.state,
        EntryStamp("p1", "", ""),
        acts,
        [],
        chosen=acts.named(chosen),
        signed="2026-11-02",
        by="owner",
    )
    for kind, body in entries:
        folding.add(kind, body, where=str(body["id"]))
    return folding


def treatment(act: str, part: str, **told: Any) -> dict[str, Any]:
    usual = {"id": f"t-{part}", "act": act, "part": part, "reason": "r", "reversible": False}
    return usual | told


def test_a_signed_plan_grants_its_acts_and_the_journal_refuses_the_others(
    guitar: PartsTree,
) -> None:
    folding = signed(guitar, "control")
    folding.add("treatment", treatment("clean control", "pot_volume"), where="t")
    for act, part in (
        ("dress frets", "frets"),  # granted before, and left out of the plan
        ("clean hardware", "bridge"),  # never spoken of
        ("file the nut", "nut"),  # an act of no known sort
    ):
        with pytest.raises(ConflictError, match="leave"):
            folding.add("treatment", treatment(act, part), where="t")
    later = {"id": "k9", "act": "clean hardware", "granted": True, "by": "owner"}
    folding.add("consent", later, where="k9")
    folding.add("treatment", treatment("clean hardware", "bridge"), where="t")


def test_a_plan_of_nothing_refuses_every_act_that_changes_it(guitar: PartsTree) -> None:
    folding = signed(guitar, "nothing")
    with pytest.raises(ConflictError, match="leave"):
        folding.add("treatment", treatment("clean control", "pot_volume"), where="t")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"schema": "x"}, "not a document of acts"),
        ({"act": [ONE["act"][0] | {"minutes": [9, 3, 4]}]}, "minutes that do not rise"),  # type: ignore[index]
        ({"act": [ONE["act"][0] | {"moves": [{"chance": 1.0}]}]}, "a move is of"),  # type: ignore[index]
        (
            {"act": [ONE["act"][0] | {"moves": [{"chance": 1.0, "effect": "luck"}]}]},  # type: ignore[index]
            "no such effect",
        ),
        (
            {"act": [ONE["act"][0] | {"moves": [{"chance": 1.0, "part": "nut"}]}]},  # type: ignore[index]
            "needs from and to",
        ),
        ({"act": [ONE["act"][0], ONE["act"][0]]}, "a key that is taken"),  # type: ignore[index]
    ],
)
def test_a_document_that_cannot_be_is_refused(change: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_work_acts(ONE | change, where="acts")
    with pytest.raises(InputError, match="no act of the plan"):
        load_work_acts().named("polish")
