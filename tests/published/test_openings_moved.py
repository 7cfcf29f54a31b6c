"""What the openings model concludes when every judgement of its tables is halved and doubled.

Three invented instruments: the guitar S10350, a bass whose neck was never off, and a guitar whose
harness was swapped whole beneath a guard that was off. No source for any rate: what is tested is
that no conclusion below hangs on the size of one of them. Two of four turned plate screws is the
least sure of them: the neck was then off with .04 to .13, by the table that is moved. Where dirt or
finish still fills the gap about one of the four heads, two turned ones settle it.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fakes.wherry_examinations import Body, look, state_of, tables
from fakes.wherry_openings import compiled_openings, looks, openings_model
from heelstamp.casework.dating.translation import translate
from heelstamp.chronology import dating_model
from heelstamp.dating import (
    CompiledModel,
    DatingModel,
    Evidence,
    Posterior,
    ScrewsSeen,
    SignSeen,
    infer,
)
from heelstamp.dating.changed_tables import with_history
from heelstamp.dating.structure import exclusive_sets
from heelstamp.reference.chronology_files import load_chronology

Change = Callable[[DatingModel, float], DatingModel]
FACTORS = (0.5, 2.0)
TUNER_4 = ("g6-tuner-4", "holes-tuner-4", "shadow-tuner-4")
TUNERS = {"tuners", *(f"tuner_{i}" for i in range(1, 7))}
BENEATH = ("pot_volume", "pot_tone", "capacitor", "leads")


def odds(p: float, factor: float) -> float:
    """A share with its odds times a factor."""
    return factor * p / (1 - p + factor * p)


def openings(model: DatingModel, factor: float) -> DatingModel:
    return replace(
        model,
        openings=tuple(
            replace(one, p=tuple(odds(p, factor) for p in one.p)) for one in model.openings
        ),
    )


def sets(model: DatingModel, factor: float) -> DatingModel:
    """Move the odds of each set against no whole swap in its assembly."""
    found = list(model.sets)
    for places in exclusive_sets(model):
        whole = [sum(shares) for shares in zip(*(found[at].p for at in places), strict=True)]
        for at in places:
            moved = (
                factor * p / (1 - all_ + factor * all_)
                for p, all_ in zip(found[at].p, whole, strict=True)
            )
            found[at] = replace(found[at], p=tuple(moved))
    return replace(model, sets=tuple(found))


def history(model: DatingModel, factor: float) -> DatingModel:
    return with_history(model, [model.history[0][0]], factor)


def assembled(model: DatingModel, factor: float) -> DatingModel:
    return with_history(model, model.assembled, factor)


def careful(model: DatingModel, factor: float) -> DatingModel:
    return replace(model, careful_default=odds(model.careful_default, factor))


def tightened(model: DatingModel, factor: float) -> DatingModel:
    return replace(
        model, screws=replace(model.screws, tightened=odds(model.screws.tightened, factor))
    )


def along(model: DatingModel, factor: float) -> DatingModel:
    return replace(
        model,
        openings=tuple(
            replace(one, along={name: odds(p, factor) for name, p in one.along.items()})
            for one in model.openings
        ),
    )


def joints(model: DatingModel, factor: float) -> DatingModel:
    """How often a joint that was heated looks untouched, against reworked."""

    def moved(row: tuple[float, ...]) -> tuple[float, ...]:
        first = odds(row[0], factor)
        return (first, *(p * (1 - first) / (1 - row[0]) for p in row[1:]))

    return replace(
        model,
        signs=tuple(
            one
            if one.opening is None
            else replace(one, table=(one.table[0], *(moved(row) for row in one.table[1:])))
            for one in model.signs
        ),
    )


CHANGES: tuple[Change, ...] = (
    openings,
    sets,
    history,
    assembled,
    careful,
    tightened,
    along,
    joints,
)


def moved() -> Iterator[tuple[str, Change, float]]:
    for change in CHANGES:
        for factor in FACTORS:
            yield f"{change.__name__} x {factor:g}", change, factor


MOVED = {name: (change, factor) for name, change, factor in moved()}


@cache
def guitar(name: str) -> CompiledModel:
    if not name:
        return compiled_openings()
    change, factor = MOVED[name]
    return CompiledModel(change(openings_model(), factor))


@cache
def bass(name: str) -> CompiledModel:
    model = dating_model(load_chronology("sallowby-lockkeeper"))
    if name:
        change, factor = MOVED[name]
        model = change(model, factor)
    return CompiledModel(model)


def original(found: Posterior, part: str) -> float:
    return float(found.states[part][0, 0])


def opened(found: Posterior, name: str) -> float:
    place = [one.name for one in found.model.every_opening].index(name)
    return float(found.openings[0, place])


@pytest.mark.parametrize("name", ["", *MOVED])
def test_the_guitar_with_one_swapped_tuner(name: str) -> None:
    compiled = guitar(name)
    without, found = infer(compiled, looks(without=TUNER_4)), infer(compiled, looks())
    assert original(found, "tuner_4") < 0.02
    for part in found.states:
        if part not in TUNERS:
            assert np.abs(found.states[part] - without.states[part]).max() < 0.005
    assert original(found, "tuner_1") > original(without, "tuner_1")
    assert min(original(found, part) for part in BENEATH) > 0.97
    assert original(found, "neck") > 0.99
    assert opened(found, "neck_off") < 0.10


@pytest.mark.parametrize("name", ["", *MOVED])
def test_screws_alone(name: str) -> None:
    """The more of four screws look turned, the likelier was the neck off; three settle nothing."""
    compiled = guitar(name)
    chances = [
        opened(infer(compiled, (ScrewsSeen("neck_off", 4, turned),)), "neck_off")
        for turned in range(5)
    ]
    assert chances == sorted(chances)
    assert chances[2] < 0.13
    assert 0.15 < chances[3] < 0.65
    assert chances[4] > 0.7


@pytest.mark.parametrize("name", ["", *MOVED])
def test_one_unbroken_seal_says_that_the_neck_stayed_on_where_two_screws_look_turned(
    name: str,
) -> None:
    """A neck comes off when all of its screws do (common practice, no source)."""
    compiled, turned = guitar(name), ScrewsSeen("neck_off", 4, 2)

    def off(*seals: str) -> float:
        seen = (SignSeen("screw_seal@neck_off", one) for one in seals)
        return opened(infer(compiled, (turned, *seen)), "neck_off")

    assert off("unbroken_at_one_or_more") < 0.02
    assert off("none_to_see") == pytest.approx(off(), abs=5e-3)
    assert off("broken_at_all") > 2 * off()


def bass_never_opened() -> Evidence:
    seen = [
        look("serial", "neck_plate", "serial", text="L1500"),
        look("board", "neck", "feature", feature="f05", variant="rosewood-like"),
        look(
            "plate",
            "plate_screws",
            "sign",
            sign="screw_heads",
            outcome="turned",
            turned=0,
            judged=4,
        ),
        look("guard", "guard", "sign", sign="screw_heads", outcome="turned", turned=0, judged=10),
        look("paint", "neck", "sign", sign="paint_bridge", outcome="intact"),
    ]
    return evidence(seen, "sallowby-lockkeeper")


def harness_swapped() -> Evidence:
    seen = [
        look("serial", "neck_plate", "serial", text="8000"),
        look("guard", "guard", "sign", sign="screw_heads", outcome="turned", turned=11, judged=11),
        *(
            look(f"j-{part}", part, "sign", sign="solder_joints", outcome="reworked")
            for part in ("leads", "pot_volume", "pot_tone", "capacitor", "switch")
        ),
        look("m1", "pot_volume", "mark", text="1377412"),
        look("m2", "pot_tone", "mark", text="1377412"),
    ]
    return evidence(seen, "sallowby-wherry")


def evidence(seen: list[Body], chronology: str) -> Evidence:
    observations = list(state_of(seen).observations.values())
    found = translate(observations, load_chronology(chronology), tables())
    return tuple(item for one in found for item in one.evidence)


@pytest.mark.parametrize("name", ["", *MOVED])
def test_a_bass_that_was_never_opened(name: str) -> None:
    found = infer(bass(name), bass_never_opened())
    assert opened(found, "neck_off") < 0.05
    assert opened(found, "guard_off") < 0.30
    assert original(found, "neck") > 0.98
    for part in ("pickup", "leads", "pot_volume", "capacitor"):
        assert original(found, part) > original(infer(bass(name), ()), part)


@pytest.mark.parametrize("name", ["", *MOVED])
def test_a_harness_that_was_swapped_whole(name: str) -> None:
    found = infer(guitar(name), harness_swapped())
    assert opened(found, "guard_off") > 0.95
    for part in ("pot_volume", "pot_tone"):
        assert original(found, part) < 0.10
    for part in ("capacitor", "switch"):
        assert original(found, part) < 0.55
    # a guitar that was worked over, so that its tuners are less sure; none of them was looked at
    for part in ("neck", "bridge", "tuners"):
        assert original(found, part) > 0.5
