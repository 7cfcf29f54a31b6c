"""When there is no completion date: a doubtful body, or parts of several instruments."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fakes.pots_model import mark
from fakes.random_dating import random_evidence, random_model
from fakes.short_form import short_chronology
from fakes.slow_dating import slow_posterior
from fakes.wherry_openings import compiled_openings, openings_model
from heelstamp.chronology import dating_model
from heelstamp.dating import (
    CompiledModel,
    Evidence,
    Identity,
    MixedSet,
    SerialNumber,
    SignSeen,
    StateLikelihood,
    Timing,
    infer,
    judge_identity,
)
from heelstamp.dating.identity import DOUBTFUL, FOREIGN_PART, Withheld, part_months
from heelstamp.units import parse_month

FOREIGN = 0.04
WHERRY = CompiledModel(dating_model(short_chronology()))  # the maker is invented
SERIAL_1965 = SerialNumber(((parse_month("1965-04"), 1.0),))


def judged(*seen: object) -> Identity:
    evidence: Evidence = tuple(seen)  # type: ignore[arg-type]
    return judge_identity(WHERRY, evidence, infer(WHERRY, evidence), FOREIGN)


def test_nothing_seen_leaves_the_prior() -> None:
    found = judged()
    assert found.foreign_body == pytest.approx(FOREIGN)
    assert found.withheld == ()
    assert found.foreign_parts == ()
    assert part_months(WHERRY, ()) == {}


def test_an_older_neck_and_nothing_else() -> None:
    """Neck of 1958 on a body of 1965: either could be the instrument's own."""
    seen = (mark("body", "1965-03"), mark("neck", "1958-03"))
    found = judged(*seen)
    assert found.withheld == (Withheld.BODY_DOUBTFUL,)
    assert found.foreign_body > DOUBTFUL
    assert found.foreign_parts == ("neck",)
    months = part_months(WHERRY, seen)
    assert months.keys() == {"body", "neck"}
    own = {part: WHERRY.model.month(int(p.argmax())) for part, p in months.items()}
    assert own["body"] - own["neck"] > 80


def test_an_older_neck_where_all_else_agrees_with_the_body() -> None:
    found = judged(
        mark("body", "1965-03"),
        mark("neck", "1958-03"),
        mark("pot_volume", "1965-01"),
        mark("pot_tone", "1965-01"),
        SERIAL_1965,
    )
    assert found.withheld == ()
    assert found.foreign_parts == ("neck",)


def test_the_body_itself_looks_doubtful() -> None:
    doubt = StateLikelihood("body", {"original": 0.1, "from_another_instrument": 0.9})
    found = judged(mark("body", "1965-03"), doubt)
    odds = FOREIGN / (1 - FOREIGN) * 9
    assert found.foreign_body == pytest.approx(odds / (1 + odds))
    assert found.withheld == (Withheld.BODY_DOUBTFUL,)


def test_parts_of_two_other_instruments() -> None:
    opened = [SignSeen(f"solder_joints@{pot}", "reworked") for pot in ("pot_volume", "pot_tone")]
    found = judged(
        mark("body", "1965-03"),
        mark("neck", "1958-03"),
        mark("pot_volume", "1957-01"),
        mark("pot_tone", "1957-01"),
        SERIAL_1965,
        SignSeen("neck_pocket_fit", "mismatched"),
        *opened,
    )
    assert Withheld.SEVERAL_INSTRUMENTS in found.withheld
    assert set(found.foreign_parts) == {"neck", "pot_volume", "pot_tone"}


def test_two_foreign_parts_of_one_assembly_are_one_harness() -> None:
    opened = [SignSeen(f"solder_joints@{pot}", "reworked") for pot in ("pot_volume", "pot_tone")]
    found = judged(
        mark("body", "1965-03"),
        mark("neck", "1965-04"),
        mark("pot_volume", "1957-01"),
        mark("pot_tone", "1957-01"),
        SERIAL_1965,
        *opened,
    )
    assert found.foreign_parts
    assert Withheld.SEVERAL_INSTRUMENTS not in found.withheld


def test_everything_agrees() -> None:
    found = judged(
        mark("body", "1965-03"), mark("neck", "1965-03"), mark("pot_tone", "1965-01"), SERIAL_1965
    )
    assert found.withheld == ()
    assert found.foreign_parts == ()
    assert found.foreign_body < 0.01


def from_another(*parts: str) -> Evidence:
    """Looks that leave no doubt that these parts came from another instrument."""
    return tuple(
        StateLikelihood(
            part,
            {
                state: 1.0 if state == "from_another_instrument" else 1e-9
                for state in openings_model().part(part).states
            },
        )
        for part in parts
    )


def test_a_neck_and_all_that_is_wired_from_elsewhere_were_put_together() -> None:
    seen = from_another("neck", "neck_plate", "guard", "pickup_neck", "pot_volume", "switch")
    compiled = compiled_openings()
    found = judge_identity(compiled, seen, infer(compiled, seen), FOREIGN)
    assert found.assembled is not None
    assert found.assembled > 0.95
    assert Withheld.PUT_TOGETHER in found.withheld


def test_an_odd_tuner_from_elsewhere_makes_no_instrument_put_together() -> None:
    compiled = compiled_openings()
    before = judge_identity(compiled, (), infer(compiled, ()), FOREIGN)
    assert before.assembled == pytest.approx(0.015)
    sets = [one.name for one in openings_model().sets if "tuner_4" in one.parts]
    assert len(sets) == 3
    seen = (*from_another("tuner_4"), *(MixedSet(name) for name in sets))
    found = judge_identity(compiled, seen, infer(compiled, seen), FOREIGN)
    assert found.assembled is not None
    assert found.assembled < 0.1
    assert found.withheld == ()


def test_a_model_without_a_history_put_together_says_so() -> None:
    assert judged().assembled is None


def test_a_model_without_a_foreign_body_says_so() -> None:
    body = replace(
        WHERRY.model.part("body"),
        states=("original",),
        timing=(Timing.BUILT,),
        undisturbed=(1.0,),
        disturbed=(1.0,),
    )
    parts = tuple(body if part.name == "body" else part for part in WHERRY.model.parts)
    compiled = CompiledModel(replace(WHERRY.model, parts=parts))
    found = judge_identity(compiled, (), infer(compiled, ()), FOREIGN)
    assert found.foreign_body is None
    assert found.withheld == ()


def seeds_with_a_foreign_body() -> list[int]:
    models = ((seed, random_model(np.random.default_rng(seed))) for seed in range(30))
    return [seed for seed, model in models if len(model.part("body").states) == 2][:6]


@pytest.mark.parametrize("seed", seeds_with_a_foreign_body())
def test_foreign_body_is_a_comparison_of_two_worlds(seed: int) -> None:
    """Against the literal sum, with the body first its own, then of another instrument."""
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    evidence = random_evidence(rng, model)
    compiled = CompiledModel(model)
    posterior = infer(compiled, evidence)
    found = judge_identity(compiled, evidence, posterior, 0.3)
    body = replace(model.part("body"), undisturbed=(0.0, 1.0), disturbed=(0.0, 1.0))
    parts = tuple(body if part.name == "body" else part for part in model.parts)
    foreign = replace(model, parts=parts, anchored=False)
    ratio = math.exp(
        slow_posterior(foreign, evidence).log_evidence
        - slow_posterior(model, evidence).log_evidence
    )
    odds = 0.3 / 0.7 * ratio
    assert found.foreign_body == pytest.approx(odds / (1 + odds), abs=1e-9)
    for part in found.foreign_parts:
        place = model.part(part).timing.index(Timing.DONOR)
        assert posterior.states[part][0, place] >= FOREIGN_PART
