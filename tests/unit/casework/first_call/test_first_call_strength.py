"""Words of an owner as evidence: against the exact sum over which of them are so."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from heelstamp.casework.dating import ready_model
from heelstamp.casework.dating.procedure import gather
from heelstamp.casework.dating.translation import translate
from heelstamp.casework.first_call.asked import AsTold
from heelstamp.casework.first_call.strength import months_as_told
from heelstamp.catalogue import Observation
from heelstamp.chronology import Chronology
from heelstamp.dating import CompiledModel, Evidence, infer, infer_many
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.tables import mark_context

SURE = AsTold(serial=0.999999, feature=0.999999)
USUAL = AsTold(serial=0.9, feature=0.8)


@pytest.fixture(scope="module")
def wherry() -> tuple[Chronology, CompiledModel]:
    known = load_chronology("sallowby-wherry")
    return known, ready_model(known)


def evidence_of(known: Chronology, **told: str) -> Evidence:
    seen = Observation(id="o", status="read", **told)  # type: ignore[arg-type]
    return gather(translate([seen], known, mark_context()))[0]


def told(wherry: tuple[Chronology, CompiledModel], strength: AsTold, **answers: str):  # type: ignore[no-untyped-def]
    known, compiled = wherry
    named = {one.replace("_", "."): text for one, text in answers.items()}
    return months_as_told(named, known, mark_context(), compiled, strength)


def test_one_word_that_is_sure_is_what_the_dating_says(
    wherry: tuple[Chronology, CompiledModel],
) -> None:
    known, compiled = wherry
    number = evidence_of(known, part="neck_plate", kind="serial", text="S10350")
    exact = infer(compiled, number).months[0]
    found = told(wherry, SURE, serial="S10350")
    after = infer(compiled, found.evidence).months[0]
    assert np.abs(after - exact).sum() < 1e-4
    assert found.bears


def test_a_word_of_chance_nine_in_ten_is_the_mixture(
    wherry: tuple[Chronology, CompiledModel],
) -> None:
    known, compiled = wherry
    number = evidence_of(known, part="neck_plate", kind="serial", text="S10350")
    exact, before = infer_many(compiled, [number, ()]).months
    after = infer(compiled, told(wherry, USUAL, serial="S10350").evidence).months[0]
    assert after == pytest.approx(0.9 * exact + 0.1 * before, abs=1e-9)


def test_several_words_are_near_the_sum_over_which_are_so(
    wherry: tuple[Chronology, CompiledModel],
) -> None:
    # every subset rightly told, the others drawn as often as such instruments show them
    known, compiled = wherry
    facts = [
        (0.9, evidence_of(known, part="neck_plate", kind="serial", text="S10350")),
        (0.8, evidence_of(known, part="guard", kind="feature", feature="f10",
                          variant=known.feature("f10").variants[1])),  # type: ignore[union-attr]
        (0.8, evidence_of(known, part="neck", kind="feature", feature="f13",
                          variant=known.feature("f13").variants[1])),  # type: ignore[union-attr]
    ]  # fmt: skip
    alone = infer_many(compiled, [one for _, one in facts]).log_evidence
    months = np.zeros(len(compiled.model.completion))
    for so in product((False, True), repeat=len(facts)):
        held = tuple(
            one for right, (_, each) in zip(so, facts, strict=True) if right for one in each
        )
        found = infer(compiled, held)
        weight = float(np.exp(found.log_evidence[0]))
        for right, (chance, _), log in zip(so, facts, alone, strict=True):
            weight *= chance if right else (1 - chance) * float(np.exp(log))
        months += weight * found.months[0]
    months /= months.sum()
    answers = {
        "serial": "S10350",
        "feature_f10": known.feature("f10").variants[1],  # type: ignore[union-attr]
        "feature_f13": known.feature("f13").variants[1],  # type: ignore[union-attr]
    }
    after = infer(compiled, told(wherry, USUAL, **answers).evidence).months[0]
    assert 0.5 * np.abs(after - months).sum() < 0.03


def test_words_widen_and_never_narrow_what_they_are_compared_with(
    wherry: tuple[Chronology, CompiledModel],
) -> None:
    nothing = told(wherry, USUAL)
    assert not nothing.bears
    assert nothing.evidence == ()
    assert nothing.range_90 == nothing.before_90
    sure, usual = (told(wherry, one, serial="S10350") for one in (SURE, USUAL))
    assert sure.range_90.last - sure.range_90.first < usual.range_90.last - usual.range_90.first
    assert "1964" < str(usual.middle // 12) < "1966"


def test_a_number_that_cannot_be_and_a_word_at_odds_are_told(
    wherry: tuple[Chronology, CompiledModel],
) -> None:
    known = wherry[0]
    wrong = told(wherry, USUAL, serial="no idea").told[0]
    assert wrong.ratio is None
    assert wrong.why_not
    first = known.feature("f01").variants[0]  # type: ignore[union-attr]
    found = told(
        wherry,
        USUAL,
        serial="S10350",
        feature_f13=known.feature("f13").variants[1],
        feature_f05=known.feature("f05").variants[0],
    )  # type: ignore[union-attr]
    assert {one.key for one in found.at_odds} == {"feature.f05"}
    assert told(wherry, USUAL, feature_f01=first).at_odds == ()


def test_an_age_that_was_told_is_compared_and_not_counted(
    wherry: tuple[Chronology, CompiledModel],
) -> None:
    found = told(wherry, USUAL, age="my uncle said 1957")
    assert found.evidence == ()
    assert found.claimed is not None
