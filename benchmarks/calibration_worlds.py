"""How often ranges hold in simulated worlds, with fresh seeds: the table of docs/methods.

Instruments are drawn from the invented Wherry's model, and from a world that departs from it
(``tests/fakes/departing_world.py``); both are dated with the shipped tables. *exact* counts the
share of the true month's mass inside the central band and is what calibration means; *printed*
are the ranges as they stand on paper, which end on whole months. A second table learns the
change-overs from censuses of 50, 200 and 1,000 and dates others without their marks.

Usage: python benchmarks/calibration_worlds.py [instruments] [seed]
"""

from __future__ import annotations

import secrets
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from heelstamp.chronology import dating_model
from heelstamp.chronology.records import TimingTable
from heelstamp.chronology.tables import doubted
from heelstamp.dating import (
    CompiledModel,
    DatingModel,
    Evidence,
    Mark,
    SerialNumber,
    Transition,
    infer_many,
)
from heelstamp.dating.calibration import hit_rates, reliability
from heelstamp.dating.learning import LearnedFeature, learn_features, with_learned
from heelstamp.dating.teaching import FeatureGroup
from heelstamp.units import Period, parse_month

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

SPAN = Period(parse_month("1953-03"), parse_month("1968-06"))
CENSUSES = (50, 200, 1000)
DOUBT_MONTHS = TimingTable.__struct_defaults__[-1]
"""By how much a chronology smears its lags unless it says otherwise."""


@dataclass(frozen=True)
class Row:
    """One line of the first table."""

    name: str
    model: DatingModel
    drawn: list[Any]
    without: tuple[type, ...] = ()

    def print(self) -> None:
        """Date everything and print the line."""
        rows = [
            tuple(one for one in it.seen if not isinstance(one, self.without)) for it in self.drawn
        ]
        posterior = infer_many(CompiledModel(self.model), rows)
        truth = np.array([it.completed for it in self.drawn]) - self.model.completion.first
        half, most = hit_rates(posterior.months, truth)
        away = np.abs(posterior.months.argmax(axis=1) - truth).mean()
        said, true = [], []
        for part in self.model.parts:
            if part.name != self.model.anchor:
                said.append(posterior.states[part.name][:, 0])
                true.append(np.array([it.states[part.name] == 0 for it in self.drawn]))
        states = reliability(np.concatenate(said), np.concatenate(true))
        base = states.base_rate * (1 - states.base_rate)
        print(
            f"{self.name:<44} {half.exact:.3f}/{half.printed:.3f}  {most.exact:.3f}/"
            f"{most.printed:.3f}  {most.width:>5.0f}  {away:>5.2f}  {states.brier:.3f} ({base:.3f})"
            f"  {states.calibration_error:.4f}",
            flush=True,
        )


def with_wider_lags(model: DatingModel) -> DatingModel:
    """Smear every lag: the shape of a lag is never known well."""
    parts = tuple(
        one if one.lag is None else replace(one, lag=doubted(one.lag, DOUBT_MONTHS))
        for one in model.parts
    )
    return replace(model, lag=doubted(model.lag, DOUBT_MONTHS), parts=parts)


def with_best_fit(model: DatingModel, learned: tuple[LearnedFeature, ...]) -> DatingModel:
    """The model with the likeliest curves instead of the averaged ones."""
    best = {}
    for one in learned:
        (change,) = one.changes
        centre, width = np.unravel_index(change.posterior.argmax(), change.posterior.shape)
        best[one.group.names[0]] = Transition(
            float(change.centres[centre]), float(change.widths[width])
        )
    features = tuple(
        replace(one, transitions=(best[one.name],)) if one.name in best else one
        for one in model.features
    )
    return replace(model, features=features)


def worlds(model: DatingModel, count: int, seed: int) -> None:
    """Print the first table."""
    from fakes.departing_world import ANOTHER_MECHANISM, draw_world

    faithful = draw_world(model, seed, count)
    other = draw_world(model, seed + 1, count, ANOTHER_MECHANISM)
    print(f"{'data':<44} 50 % exact/printed, 90 %, width, error, Brier (base), ECE")
    Row("all evidence, the model's own world", model, faithful).print()
    Row("the same, no marks", model, faithful, (Mark,)).print()
    Row("features and signs only", model, faithful, (Mark, SerialNumber)).print()
    Row("another world, lags taken as known", model, other).print()
    Row("another world, no marks", model, other, (Mark,)).print()
    Row("another world, shipped default", with_wider_lags(model), other).print()
    Row("the model's own world, shipped default", with_wider_lags(model), faithful).print()


def censuses(model: DatingModel, count: int, seed: int) -> None:
    """Print the second table."""
    from fakes.departing_world import draw_world

    groups = [
        FeatureGroup((one.name,), read_from_serial=one.name == "g2")
        for one in model.features
        if len(one.transitions) == 1 and "@" not in one.name
    ]
    others = draw_world(model, seed + 2, count)
    rows: list[Evidence] = [
        tuple(one for one in it.seen if not isinstance(one, Mark)) for it in others
    ]
    truth = np.array([it.completed for it in others]) - model.completion.first
    print("\ncensus  centre error, inside 90 %; 90 % without marks holds: averaged, best fit")
    for size in CENSUSES:
        census = [it.seen for it in draw_world(model, seed + 10 + size, size)]
        learned = learn_features(model, census, groups, SPAN)
        before = {one.name: one.transitions[0] for one in model.features if one.transitions}
        errors, inside = [], 0
        for one in learned:
            planted = before[one.group.names[0]]
            assert isinstance(planted, Transition)
            low, high = one.changes[0].centre_90
            errors.append(abs(one.changes[0].centre_mean - planted.centre))
            inside += low <= planted.centre <= high
        held = [
            hit_rates(infer_many(CompiledModel(make(model, learned)), rows).months, truth)[1].exact
            for make in (_averaged, with_best_fit)
        ]
        print(
            f"{size:>6}  {np.mean(errors):.2f} months, {inside}/{len(learned)}; {held[0]:.3f}, "
            f"{held[1]:.3f}",
            flush=True,
        )


def _averaged(model: DatingModel, learned: tuple[LearnedFeature, ...]) -> DatingModel:
    return with_learned(model, learned)


def main(arguments: list[str]) -> None:
    """Print both tables and the seed that repeats them."""
    count = int(arguments[0]) if arguments else 5000
    seed = int(arguments[1]) if len(arguments) > 1 else secrets.randbelow(10**6)
    print(f"{count:,} instruments, seed {seed}")
    from fakes.short_form import short_chronology

    model = dating_model(short_chronology())
    tables: tuple[Callable[[DatingModel, int, int], None], ...] = (worlds, censuses)
    for table in tables:
        table(model, count, seed)


if __name__ == "__main__":
    main(sys.argv[1:])
