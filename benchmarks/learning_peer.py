"""Learned change-overs against PyMC: posterior means within Monte Carlo error.

Both are given the same looks: P(completion month | everything else) and P(part as built) of a
drawn census. PyMC samples the centre (flat over the years of production) and the logarithm of the
width (flat between 0.7 and 20 months) with NUTS; ours is the quadrature of
``heelstamp.dating.change_quadrature``. The grids differ by design (ours steps by two months and
ten widths), so the table also gives our posterior on a fine grid, which shows how much the coarse
one costs.

Usage: python benchmarks/learning_peer.py [instruments] [seed]
"""

from __future__ import annotations

import logging
import sys
import time
import warnings
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel
from heelstamp.dating.change_quadrature import CurveGrid, Looks, learn_changes
from heelstamp.dating.changeover import logistic
from heelstamp.dating.teaching import FeatureGroup, beside_the_point, dated_without
from heelstamp.units import Period, parse_month
from results import Result

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

FEATURES = ("f04", "f08", "f12", "f14")
SPAN = Period(parse_month("1953-03"), parse_month("1968-06"))
LOW, HIGH = np.log(0.7), np.log(20.0)
DRAWS, WARM_UP, CHAINS = 2000, 1000, 4


def looks_of(name: str, count: int, seed: int) -> tuple[Looks, CompiledModel]:
    """What both sides are told."""
    from fakes.departing_world import draw_world
    from fakes.short_form import short_chronology

    compiled = CompiledModel(dating_model(short_chronology()))
    census = [one.seen for one in draw_world(compiled.model, seed, count)]
    teaching = dated_without(compiled, census, FeatureGroup((name,)))
    feature = compiled.model.features[compiled.feature_index[name]]
    told = teaching.variants < 2  # what the factory never fitted tells nothing of the change
    return (
        Looks(
            teaching.months[told],
            teaching.variants[told],
            beside_the_point(compiled, name, teaching)[told],
            (teaching.built * (1 - feature.error))[told],
        ),
        compiled,
    )


def fine(looks: Looks, first: int) -> tuple[float, float]:
    """Mean centre and mean log width on a grid of half months and a hundred widths."""
    centres = np.arange(SPAN.first + 0.25, SPAN.last, 0.5)
    step = (HIGH - LOW) / 100
    widths = LOW + step * (np.arange(100) + 0.5)
    months = first + np.arange(looks.months.shape[1])
    log = np.empty((len(centres), len(widths)))
    for place, width in enumerate(np.exp(widths)):
        curves = logistic((months[None, :] - centres[:, None]) / width)
        gone = looks.months @ curves.T
        share = np.where(looks.variants[:, None] == 1, gone, 1 - gone)
        log[:, place] = np.log(looks.fixed[:, None] + looks.moved[:, None] * share).sum(axis=0)
    p = np.exp(log - log.max())
    p /= p.sum()
    return float(p.sum(axis=1) @ centres), float(p.sum(axis=0) @ widths)


def sampled(looks: Looks, first: int, seed: int) -> tuple[float, float, float, float, float]:
    """PyMC's means of centre and log width, their Monte Carlo errors, and CPU seconds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import arviz
        import pymc
        from pytensor import tensor

        logging.getLogger("pymc").setLevel(logging.ERROR)
        months = (first + np.arange(looks.months.shape[1])).astype(float)
        middle = (SPAN.first + SPAN.last) / 2
        begun = time.process_time()
        with pymc.Model():
            centre = pymc.Uniform("centre", SPAN.first - middle, SPAN.last - middle)
            width = pymc.Uniform("width", LOW, HIGH)
            curve = pymc.math.sigmoid((months - middle - centre) / tensor.exp(width))
            gone = tensor.dot(looks.months, curve)
            share = tensor.switch(looks.variants == 1, gone, 1 - gone)
            pymc.Potential("looks", tensor.log(looks.fixed + looks.moved * share).sum())
            trace = pymc.sample(
                draws=DRAWS,
                tune=WARM_UP,
                chains=CHAINS,
                cores=1,
                random_seed=seed,
                progressbar=False,
                target_accept=0.95,
            )
        seconds = time.process_time() - begun
        errors = arviz.mcse(trace)
        means = trace.posterior.mean()
        return (
            float(means["centre"]) + middle,
            float(means["width"]),
            float(errors["centre"]),
            float(errors["width"]),
            seconds,
        )


def measure(count: int = 200, seed: int = 7) -> Iterator[Result]:
    """Compare a few features; the figure is the difference in Monte Carlo errors."""
    worst = 0.0
    ours_s = theirs_s = 0.0
    for name in FEATURES:
        looks, compiled = looks_of(name, count, seed)
        first = compiled.model.completion.first
        feature = compiled.model.features[compiled.feature_index[name]]
        begun = time.process_time()
        (coarse,) = learn_changes(CurveGrid(compiled.model.completion, SPAN), feature, looks)
        ours_s += time.process_time() - begun
        centre, width = fine(looks, first)
        their_centre, their_width, e_centre, e_width, seconds = sampled(looks, first, seed)
        theirs_s += seconds
        away = max(abs(centre - their_centre) / e_centre, abs(width - their_width) / e_width)
        worst = max(worst, away)
        log_width = float(coarse.posterior.sum(axis=0) @ np.log(coarse.widths))
        print(
            f"{name}: centre fine {centre:.2f}, coarse {coarse.centre_mean:.2f}, PyMC "
            f"{their_centre:.2f} ± {e_centre:.2f}; log width fine {width:.3f}, coarse "
            f"{log_width:.3f}, PyMC {their_width:.3f} ± {e_width:.3f}; {away:.1f} errors"
        )
    yield Result(
        "learned change-overs against PyMC, worst of eight means",
        worst,
        "Monte Carlo errors",
        ("at most", 3.0),
        f"ours {ours_s:.2f} CPU s, PyMC {theirs_s:.0f} CPU s",
    )


if __name__ == "__main__":
    for result in measure(*(int(one) for one in sys.argv[1:])):
        print(result.what, result.figure, result.unit, result.verdict, result.beside)
