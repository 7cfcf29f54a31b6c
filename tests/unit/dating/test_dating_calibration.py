"""Ranges hold what they say and probabilities happen as often as they say.

Instruments are drawn from the model of the invented Wherry by tests/fakes/simulated_world.py and
dated from what was seen of them. This shows that inference inverts the model, not that the model
is true of any maker.
"""

from functools import cache
from typing import NamedTuple

import numpy as np
import pytest

from fakes.short_form import short_chronology
from fakes.simulated_world import Drawn, Examiner, World
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, DatingModel, Posterior, central_interval, infer_many

COUNT = 3000
SEED = 1965
MARKED = ("body", "neck", "pot_volume", "pot_tone")
EXAMINERS = {
    "all open": Examiner(MARKED, 0.8, 0.9, 0.7, 0.9, one_digit=("pot_tone",)),
    "from outside": Examiner((), 0.0, 0.6, 0.3, 0.5),
}
EDGES = np.linspace(0, 1, 11)


class Dated(NamedTuple):
    """Drawn instruments with their posteriors and where each truth lies in its posterior."""

    model: DatingModel
    drawn: list[Drawn]
    posterior: Posterior
    place: np.ndarray


@cache
def dated(name: str) -> Dated:
    model = dating_model(short_chronology())
    world = World(model, EXAMINERS[name], SEED)
    drawn = [world.draw() for _ in range(COUNT)]
    posterior = infer_many(CompiledModel(model), [one.evidence for one in drawn])
    truth = np.array([one.completed for one in drawn]) - model.completion.first
    rows = np.arange(COUNT)
    below = np.cumsum(posterior.months, axis=1)[rows, truth] - posterior.months[rows, truth]
    # a month is a step of the distribution: the truth is placed evenly within it
    within = np.random.default_rng(SEED + 1).random(COUNT)
    return Dated(model, drawn, posterior, below + within * posterior.months[rows, truth])


@pytest.mark.parametrize("name", EXAMINERS)
@pytest.mark.parametrize(("level", "least", "most"), [(0.5, 0.47, 0.53), (0.9, 0.88, 0.92)])
def test_central_ranges_hold_what_they_say(
    name: str, level: float, least: float, most: float
) -> None:
    place = dated(name).place
    held = float(((place > (1 - level) / 2) & (place < (1 + level) / 2)).mean())
    print(f"{name}: {level:.0%} range holds {held:.3f}")  # noqa: T201 - for -s
    assert least <= held <= most


@pytest.mark.parametrize("name", EXAMINERS)
def test_truth_lies_evenly_in_its_posterior(name: str) -> None:
    """Kolmogorov's distance from evenness, below its 1 % point 1.63 / sqrt(n) (from memory)."""
    place = np.sort(dated(name).place)
    distance = np.abs(place - (np.arange(COUNT) + 0.5) / COUNT).max()
    assert distance < 1.63 / np.sqrt(COUNT)


@pytest.mark.parametrize("name", EXAMINERS)
@pytest.mark.parametrize("level", [0.5, 0.9])
def test_printed_ranges_hold_at_least_their_level(name: str, level: float) -> None:
    """Printed ranges end on whole months, so they hold a little more than they say."""
    found = dated(name)
    grid = found.model.completion
    hits, promised, widths = 0, 0.0, []
    for drawn, months in zip(found.drawn, found.posterior.months, strict=True):
        interval = central_interval(months, grid, level)
        hits += drawn.completed in interval
        promised += months[interval.first - grid.first : interval.last - grid.first + 1].sum()
        widths.append(len(interval))
    print(  # noqa: T201 - for -s
        f"{name}: printed {level:.0%} ranges hold {hits / COUNT:.3f}, promise "
        f"{promised / COUNT:.3f}, median width {np.median(widths):.0f} months"
    )
    assert hits / COUNT == pytest.approx(promised / COUNT, abs=0.025)
    assert hits / COUNT >= level - 0.02


def calibration_error(p: np.ndarray, happened: np.ndarray) -> float:
    """Expected calibration error over ten even bins."""
    which = np.clip(np.digitize(p, EDGES) - 1, 0, 9)
    error = 0.0
    for place in range(10):
        inside = which == place
        if inside.any():
            error += inside.mean() * abs(p[inside].mean() - happened[inside].mean())
    return error


@pytest.mark.parametrize("name", EXAMINERS)
def test_part_states_happen_as_often_as_they_say(name: str) -> None:
    found = dated(name)
    p, happened, originals = [], [], []
    for part in found.model.parts:
        if len(part.states) < 4:
            continue  # the body is first by definition
        true = np.array([one.states[part.name] for one in found.drawn])
        for state in range(len(part.states)):
            p.append(found.posterior.states[part.name][:, state])
            happened.append(true == state)
        originals.append((p[-len(part.states)], happened[-len(part.states)]))
    error = calibration_error(np.concatenate(p), np.concatenate(happened))
    first = calibration_error(*(np.concatenate(one) for one in zip(*originals, strict=True)))
    print(f"{name}: calibration error {error:.4f}, first fitted {first:.4f}")  # noqa: T201 - for -s
    assert error <= 0.01
    assert first <= 0.01


@pytest.mark.parametrize("name", EXAMINERS)
def test_disturbance_happens_as_often_as_it_says(name: str) -> None:
    found = dated(name)
    names = [one.name for one in found.model.assemblies]
    true = np.array([[one.disturbed[key] for key in names] for one in found.drawn])
    error = calibration_error(found.posterior.disturbed.ravel(), true.ravel())
    assert error <= 0.02


def test_looking_further_helps() -> None:
    """The error of the median falls when marks are read."""
    errors = {}
    for name in EXAMINERS:
        found = dated(name)
        middle = (np.cumsum(found.posterior.months, axis=1) >= 0.5).argmax(axis=1)
        truth = np.array([one.completed for one in found.drawn]) - found.model.completion.first
        errors[name] = float(np.abs(middle - truth).mean())
    print({name: round(error, 2) for name, error in errors.items()})  # noqa: T201 - for -s
    assert errors["all open"] < errors["from outside"] / 2
