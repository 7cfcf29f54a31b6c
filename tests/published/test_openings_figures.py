"""What the openings model says of the invented S10350, and of looks alone.

Invented scenario. The figures were worked out beforehand by a separate program from the same
default openings, which were tuned until some of them held: they are fits and no evidence that the
defaults are true of any maker. Each is checked to the digits it was written down with.
"""

from dataclasses import replace

import numpy as np
import pytest

from fakes.wherry_examinations import wherry
from fakes.wherry_openings import first_written, looks, openings_model
from heelstamp.dating import (
    Evidence,
    Mark,
    Posterior,
    Reading,
    ScrewsSeen,
    SignSeen,
    StateLikelihood,
    central_interval,
    each_place,
    infer,
    median,
)
from heelstamp.units import Period, format_month, parse_month

BENEATH = ("pot_volume", "pot_tone", "capacitor", "leads", "pickup_neck", "pickup_bridge", "switch")
JOINTS = tuple(
    SignSeen(f"solder_joints@joint_{part}", "untouched")
    for part in ("pot_volume", "pot_tone", "capacitor", "leads")
)
TUNER_4 = ("g6-tuner-4", "holes-tuner-4", "shadow-tuner-4")
OF_SET = {"tuners", *(f"tuner_{i}" for i in range(1, 7))}


def posterior(evidence: Evidence) -> Posterior:
    return infer(first_written(), evidence)


def original(found: Posterior, part: str) -> float:
    return float(found.states[part][0, 0])


def opened(found: Posterior, name: str) -> float:
    place = [one.name for one in found.model.every_opening].index(name)
    return float(found.openings[0, place])


def odds(p: float) -> float:
    return p / (1 - p)


def moved_outside(one: Posterior, other: Posterior) -> float:
    return max(
        float(np.abs(one.states[part] - other.states[part]).max())
        for part in one.states
        if part not in OF_SET
    )


def test_a_swapped_tuner_lowers_tuners_only() -> None:
    without, found = posterior(looks(without=TUNER_4)), posterior(looks())
    assert original(without, "tuner_4") == pytest.approx(0.946, abs=5e-4)
    assert original(found, "tuner_4") == pytest.approx(0.003, abs=5e-4)
    assert moved_outside(without, found) <= 0.00045
    # a mixed set was not swapped whole, so the others rise
    rise = original(found, "tuner_1") - original(without, "tuner_1")
    assert rise == pytest.approx(0.010, abs=5e-4)


def test_a_swapped_tuner_where_only_tuners_were_seen() -> None:
    one, other = posterior(looks("g6-tuner-1")), posterior(looks("g6-tuner-1", *TUNER_4))
    assert moved_outside(one, other) == pytest.approx(0.015, abs=5e-4)
    rise = original(other, "tuner_1") - original(one, "tuner_1")
    assert rise == pytest.approx(0.029, abs=1.5e-3)


@pytest.mark.parametrize(
    ("joints", "turned", "least", "switch"),
    [
        (JOINTS, 0, 0.995, 0.995),
        (JOINTS, None, 0.977, 0.977),
        (JOINTS, 11, 0.982, 0.952),
        ((), 0, 0.982, 0.982),
        ((), None, 0.897, 0.897),
        ((), 11, 0.822, 0.822),
    ],
)
def test_what_lies_beneath_the_guard(
    joints: Evidence, turned: int | None, least: float, switch: float
) -> None:
    """The switch's own joint was not looked at; the other parts' joints were, or none."""
    screws = () if turned is None else (ScrewsSeen("guard_off", 11, turned),)
    found = posterior((*joints, *screws))
    assert round(original(found, "switch"), 3) >= switch
    assert round(min(original(found, part) for part in BENEATH if part != "switch"), 3) >= least


@pytest.mark.parametrize(
    ("turned", "p"), [(0, 0.038), (1, 0.044), (2, 0.064), (3, 0.371), (4, 0.869), (None, 0.324)]
)
def test_neck_off_by_screws_turned(turned: int | None, p: float) -> None:
    seen = () if turned is None else (ScrewsSeen("neck_off", 4, turned),)
    assert opened(posterior(seen), "neck_off") == pytest.approx(p, abs=6e-4)


def test_neck_off_on_the_instrument() -> None:
    assert opened(posterior(looks()), "neck_off") == pytest.approx(0.036, abs=5e-4)


def test_two_of_four_screws_is_not_robust() -> None:
    """With more careful hands, or twice the odds of the large openings, it turns over .05."""
    model, seen = first_written().model, (ScrewsSeen("neck_off", 4, 2),)
    careful = infer(replace(model, careful_default=0.15), seen)
    assert opened(careful, "neck_off") == pytest.approx(0.091, abs=5e-4)
    large = ("guard_off", "plate_off", "neck_off", "bridge_off")
    doubled = tuple(
        replace(one, p=tuple(2 * p / (1 + p) for p in one.p)) if one.name in large else one
        for one in model.openings
    )
    often = infer(replace(model, openings=doubled), seen)
    assert opened(often, "neck_off") == pytest.approx(0.102, abs=5e-4)


def test_the_neck_without_its_own_looks() -> None:
    own = ("mark-neck", "f05", "f09", "f12", "f13", "pocket-fit", "heads-plate")
    assert original(posterior(looks(without=own)), "neck") == pytest.approx(0.967, abs=5e-4)


@pytest.mark.parametrize(
    ("joint", "both", "volume", "tone"),
    [("untouched", 0.989, 0.008, 0.003), ("reworked", 0.765, 0.217, 0.013)],
)
def test_pots_26_weeks_apart(joint: str, both: float, volume: float, tone: float) -> None:
    seen = tuple(
        SignSeen("solder_joints@joint_pot_volume", joint)
        if isinstance(one, SignSeen) and one.sign == "solder_joints@joint_pot_volume"
        else one
        for one in looks()
    )
    states = openings_model().part("pot_volume").states
    whole = float(posterior(seen).log_evidence[0])

    def clamped(first: tuple[str, ...], second: tuple[str, ...]) -> float:
        held = tuple(
            StateLikelihood(part, {one: 1.0 if one in kept else 1e-14 for one in states})
            for part, kept in (("pot_volume", first), ("pot_tone", second))
        )
        return float(np.exp(posterior((*seen, *held)).log_evidence[0] - whole))

    first, others = states[:1], states[1:]
    assert clamped(first, first) == pytest.approx(both, abs=5e-4)
    assert clamped(others, first) == pytest.approx(volume, abs=5e-4)
    assert clamped(first, others) == pytest.approx(tone, abs=5e-4)


def test_range_and_the_claim_of_1964() -> None:
    found, grid = posterior(looks()), openings_model().completion
    months = found.months[0]
    interval = central_interval(months, grid, 0.9)
    assert format_month(interval.first) == "1965-05"
    assert format_month(interval.last) == "1965-09"
    assert format_month(median(months, grid)) == "1965-06"
    years = np.arange(grid.first, grid.last + 1) // 12
    assert months[(years >= 1963) & (years <= 1965)].sum() == pytest.approx(0.9995, abs=5e-5)
    assert months[years == 1964].sum() < 1e-4


@pytest.mark.parametrize(
    ("part", "state", "ratio", "even"),
    [("pot_volume", 0, 13, 0.930), ("neck", 0, 213, 0.995), ("finish", 0, 0.12, 0.108)],
)
def test_weight_of_the_evidence(part: str, state: int, ratio: float, even: float) -> None:
    """Posterior odds over odds before any look (Good 1950, from memory)."""
    before, after = posterior(()), posterior(looks())
    found = odds(after.states[part][0, state]) / odds(before.states[part][0, state])
    assert found == pytest.approx(ratio, rel=0.03)
    assert found / (1 + found) == pytest.approx(even, abs=5e-4)


def test_the_floor_caps_a_part() -> None:
    found = posterior(looks())
    assert original(found, "neck") == pytest.approx(0.9997, abs=5e-5)
    assert found.states["finish"][0, 1] == pytest.approx(0.728, abs=5e-4)


def test_no_place_is_likelier_touched_than_the_finish() -> None:
    touched = float(posterior(looks()).states["finish"][0, 1])
    ratios = [25.0, 15.0, 0.15, 0.1, 0.25, 0.3]
    places = each_place(touched, ratios)
    assert places.max() <= touched
    assert places[0] > 0.6
    assert places[2] < 0.05


def test_pots_younger_than_production() -> None:
    """Two pots of 1969, nothing turned: most of the probability lies outside production."""
    pots = tuple(
        Mark(part, (Reading(Period.parse("1969-04"), 1.0),)) for part in ("pot_volume", "pot_tone")
    )
    found = posterior((*pots, ScrewsSeen("guard_off", 11, 0)))
    grid = openings_model().completion
    months = np.arange(grid.first, grid.last + 1)
    last = parse_month(wherry().production.last)
    assert found.months[0][months > last].sum() > 0.95


def test_a_clear_code_of_1972_stays_unsettled() -> None:
    seen = tuple(
        Mark(one.part, (Reading(Period.parse("1972-05"), 1.0),))
        if isinstance(one, Mark) and one.part == "pot_volume"
        else one
        for one in looks()
    )
    assert original(posterior(seen), "pot_volume") == pytest.approx(0.946, abs=2e-3)
