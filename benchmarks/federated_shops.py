"""Change-overs learned from many shops' tables: error, what the ranges hold, who is found.

Shops of 5 to 50 instruments (log-uniform) drawn from the invented Wherry's model. In some worlds
part of them err: dates 18 months late, 30 % of variants wrong, four in five of the older variant
left out, or every shop has a shift of its own, sd 6 months. Printed for each way of joining: mean
error of a centre in months, share of 90 % ranges that hold the truth; then shops that were found.

Usage: python benchmarks/federated_shops.py [repeats] [seed]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, DatingModel, Transition
from heelstamp.dating.change_quadrature import WIDTHS, CurveGrid, Looks, add_looks
from heelstamp.dating.federation import joining
from heelstamp.dating.federation.misfit import misfits
from heelstamp.dating.federation.tables import (
    CENTRES_APART,
    in_nats,
    in_steps,
    learned_from,
    prior_of,
)
from heelstamp.dating.learning import with_curves
from heelstamp.dating.model import Array, Feature
from heelstamp.dating.teaching import FeatureGroup, Teaching, beside_the_point, dated_without_any
from heelstamp.units import Period, parse_month

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

SPAN = Period(parse_month("1953-03"), parse_month("1968-06"))
NAMES = (*(f"f{i:02d}" for i in range(1, 15)), "g2", "g3", "g4")
LATE, OWN_SD, WRONG, LEFT_OUT = 18, 6.0, 0.3, 0.8
Rng = np.random.Generator
Change = Callable[[Teaching, Rng], Teaching]


@dataclass(frozen=True)
class World:
    """Shops that look at instruments of one maker; *change* spoils what the first of them say."""

    name: str
    shops: int
    bad: int = 0
    change: Change | None = None


@dataclass(frozen=True)
class Way:
    """A way of joining: tables by feature and shop to one posterior a feature."""

    name: str
    join: Callable[[list[list[Array]], Array], list[Array]]


def late(months: float) -> Change:
    """Dates that are late by so many months."""

    def change(one: Teaching, _: Rng) -> Teaching:
        return replace(one, months=shifted_months(one.months, round(months)))

    return change


def shifted_months(months: Array, by: int) -> Array:
    """Dates moved by whole months; what would leave the grid is lost."""
    moved = np.zeros_like(months)
    if by >= 0:
        moved[:, by:] = months[:, : months.shape[1] - by]
    else:
        moved[:, :by] = months[:, -by:]
    return moved


def own_shift(one: Teaching, rng: Rng) -> Teaching:
    """A shift of the shop's own."""
    del rng
    return one


def wrong_variants(one: Teaching, rng: Rng) -> Teaching:
    """Looks of which 30 % say the other variant."""
    turned = (rng.random(one.count) < WRONG) & (one.variants < 2)
    return replace(one, variants=np.where(turned, 1 - one.variants, one.variants))


def older_left_out(one: Teaching, rng: Rng) -> Teaching:
    """Looks without four in five of those at the older variant."""
    return picked(one, (one.variants != 0) | (rng.random(one.count) >= LEFT_OUT))


def picked(one: Teaching, rows: Array) -> Teaching:
    """Some of the looks."""
    return Teaching(
        one.months[rows],
        one.built[rows],
        one.period[rows],
        one.variants[rows],
        one.instruments[rows],
    )


class Drawn:
    """Shops drawn once, and their tables."""

    def __init__(self, model: DatingModel, seed: int, sizes: list[int]) -> None:
        from fakes.departing_world import draw_world

        self.grid = CurveGrid(model.completion, SPAN, CENTRES_APART)
        self.features = {one.name: one for one in model.features}
        curves = {name: self.grid.unknown(self.features[name]) for name in NAMES}
        self.compiled = CompiledModel(with_curves(model, curves))
        self.groups = {name: FeatureGroup((name,), read_from_serial=name == "g2") for name in NAMES}
        census = [one.seen for one in draw_world(model, seed, sum(sizes))]
        taught = dated_without_any(self.compiled, census, tuple(self.groups.values()), NAMES)
        self.taught = {name: taught[group] for name, group in self.groups.items()}
        self.ends = np.cumsum([0, *sizes])

    def tables(self, world: World, rng: Rng, least: int = 1) -> list[dict[str, Array]]:
        """Tables of each shop by feature, rounded as they are sent."""
        found = []
        for shop in range(world.shops):
            change = world.change if shop < world.bad else None
            if change is own_shift:
                change = late(rng.normal(0, OWN_SD))
            own = {}
            for name, whole in self.taught.items():
                inside = (whole.instruments >= self.ends[shop]) & (
                    whole.instruments < self.ends[shop + 1]
                )
                one = picked(whole, inside)
                if change is not None:
                    one = change(one, rng)
                if (one.variants < 2).sum() >= least:
                    own[name] = in_nats(in_steps(self._table(name, one)))
            found.append(own)
        return found

    def _table(self, name: str, one: Teaching) -> Array:
        feature: Feature = self.features[name]
        looks = Looks(
            months=one.months,
            variants=one.variants,
            fixed=beside_the_point(self.compiled, name, one),
            moved=one.built * (1 - feature.error),
        )
        empty = np.zeros(len(self.grid.prior))
        log = add_looks(empty, looks, self.grid, [np.ones(len(self.grid.months))], 0)
        return log.reshape(len(self.grid.points), len(WIDTHS))


def by_feature(tables: list[dict[str, Array]]) -> list[list[Array]]:
    """Turn tables by shop into tables by feature."""
    return [[one[name] for one in tables if name in one] for name in NAMES]


WAYS = (
    Way("product", lambda t, p: [joining.product(one, p) for one in t]),
    Way("contaminated", lambda t, p: [joining.contaminated(one, p) for one in t]),
    Way("shifted", lambda t, p: joining.shifted(t, p, CENTRES_APART)),
)
WORLDS = (
    World("all honest", 100),
    World("1 of 100 late", 100, 1, late(LATE)),
    World("10 of 100 late", 100, 10, late(LATE)),
    World("10 of 100 with wrong variants", 100, 10, wrong_variants),
    World("10 of 100 leave out the older variant", 100, 10, older_left_out),
    World("every one of 60 a shift of its own", 60, 60, own_shift),
)
COUNTS = (1, 3, 10, 30, 100)


def measured(drawn: Drawn, posteriors: list[Array]) -> tuple[float, float, float]:
    """Mean error of a centre, sd said, share of 90 % ranges that hold."""
    away, said, held = [], [], []
    for name, one in zip(NAMES, posteriors, strict=True):
        truth = drawn.features[name].transitions[0]
        assert isinstance(truth, Transition)
        change = learned_from(drawn.grid, one)
        away.append(abs(change.centre_mean - truth.centre))
        said.append(change.centre_sd)
        low, high = change.centre_90
        held.append(low <= truth.centre <= high)
    return float(np.mean(away)), float(np.mean(said)), float(np.mean(held))


def drawn_shops(model: DatingModel, shops: int, seed: int, repeat: int) -> tuple[Drawn, Rng]:
    """Shops of 5 to 50 instruments, log-uniform."""
    rng = np.random.default_rng([seed, repeat])
    sizes = [round(np.exp(one)) for one in rng.uniform(np.log(5), np.log(50), shops)]
    return Drawn(model, seed + 1000 * repeat, sizes), rng


def print_world(model: DatingModel, world: World, repeats: int, seed: int) -> None:
    """Print one world: who was found, and each way of joining."""
    rows: dict[str, list[tuple[float, float, float]]] = {one.name: [] for one in WAYS}
    found = asked = 0
    for repeat in range(repeats):
        drawn, rng = drawn_shops(model, world.shops, seed, repeat)
        tables = drawn.tables(world, rng)
        prior = prior_of(drawn.grid)
        stand = misfits(tables, prior, CENTRES_APART)
        found += sum(one.is_asked for one in stand[: world.bad])
        asked += sum(one.is_asked for one in stand[world.bad :])
        for way in WAYS:
            rows[way.name].append(measured(drawn, way.join(by_feature(tables), prior)))
    print(f"{world.name}: {found} of {repeats * world.bad} found, {asked} others asked about")
    for name, some in rows.items():
        print_row(name, some)


def print_row(name: str, some: list[tuple[float, float, float]]) -> None:
    """Print means over repeats."""
    error, said, held = np.mean(some, axis=0)
    print(
        f"  {name:<14} error {error:5.2f}  sd said {said:5.2f}  90 % holds {held:.2f}", flush=True
    )


def main(repeats: int, seed: int) -> None:
    """Print the tables."""
    from fakes.short_form import short_chronology

    model = dating_model(short_chronology())
    for world in WORLDS:
        print_world(model, world, repeats, seed)
    print("Contaminated, by number of shops; then tables of at least 20 looks alone")
    for count in COUNTS:
        some: dict[int, list[tuple[float, float, float]]] = {1: [], 20: []}
        for repeat in range(repeats * (3 if count < 30 else 1)):
            drawn, rng = drawn_shops(model, count, seed + 7, repeat)
            for least, rows in some.items():
                tables = by_feature(drawn.tables(World("", count), rng, least))
                prior = prior_of(drawn.grid)
                rows.append(measured(drawn, [joining.contaminated(one, prior) for one in tables]))
        for least, rows in some.items():
            print_row(f"{count}, least {least}", rows)


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:]]
    main(*given, *(2, 1)[len(given) :])
