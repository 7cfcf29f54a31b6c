"""The price regression against PyMC on one hierarchical case: the same model by NUTS.

Comparables drawn from the fixed rule (``tests/fakes/markets.py``); both sides get the same design,
priors and noise. With normal noise ours is exact but for the quadrature over three scales; with
Student-t noise (what the program uses) its weights are found by variational Bayes, and the
difference from the sampler's answer is the price of that.

Usage: python benchmarks/price_peer.py [comparables] [seed]
"""

from __future__ import annotations

import logging
import math
import sys
import time
import warnings
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.markets import LAST, YEARS, planted_market
from heelstamp.casework.appraisal.design import fit_market
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.reference.market import load_market
from heelstamp.valuation.price_index import FLAT
from heelstamp.valuation.regression import Fit, Prior, regress
from results import Result

DRAWS, WARM_UP, CHAINS = 2000, 1500, 2
COMPARED = (
    "grade",
    "touched_up",
    "refinished",
    "pickup",
    "neck_later",
    "no_case",
    "rare_colour",
    "asking",
)


def sampled(
    x: np.ndarray, y: np.ndarray, prior: Prior, seed: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """PyMC's means, standard deviations and Monte Carlo errors, and CPU seconds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import arviz
        import pymc
        from pytensor import tensor

        logging.getLogger("pymc").setLevel(logging.ERROR)
        begun = time.process_time()
        with pymc.Model():

            def scale(name: str, of: object) -> object:
                # scaled inverse chi-squared: dof * typical^2 over a chi-squared variable
                chi = pymc.ChiSquared(f"chi {name}", nu=of.dof)
                return of.typical * tensor.sqrt(of.dof / chi)

            noise = scale("noise", prior.noise)
            walks = [scale(f"walk {k}", one) for k, one in enumerate(prior.walks)]
            sizes = tensor.stack([*walks, tensor.as_tensor(1.0)])
            raw = pymc.Normal("raw", shape=len(prior.mean))
            lengths = tensor.as_tensor(prior.sd) * sizes[np.array(prior.walk)]
            b = pymc.Deterministic("b", prior.mean + raw * lengths)
            mean = tensor.dot(tensor.as_tensor(x), b)
            if math.isinf(prior.tails):
                pymc.Normal("y", mu=mean, sigma=noise, observed=y)
            else:
                pymc.StudentT("y", nu=prior.tails, mu=mean, sigma=noise, observed=y)
            trace = pymc.sample(
                draws=DRAWS,
                tune=WARM_UP,
                chains=CHAINS,
                cores=1,
                random_seed=seed,
                progressbar=False,
                target_accept=0.95,
            )
        b_draws = trace.posterior["b"].values.reshape(-1, len(prior.mean))
        errors = np.asarray(arviz.mcse(trace, var_names=["b"])["b"]).ravel()
        return b_draws.mean(axis=0), b_draws.std(axis=0), errors, time.process_time() - begun


def compare(x: np.ndarray, y: np.ndarray, prior: Prior, seed: int, name: str) -> Iterator[Result]:
    """Compare means and standard deviations of the effects."""
    begun = time.process_time()
    fit: Fit = regress(x, y, prior)
    ours_s = time.process_time() - begun
    mean, covariance = fit.coefficients()
    sd = np.sqrt(np.diag(covariance))
    theirs, their_sd, error, seconds = sampled(x, y, prior, seed)
    places = [1 + EFFECTS.index(key) for key in COMPARED]
    away = np.abs(mean - theirs)[places]
    yield Result(
        f"effects on the price against PyMC, {name} noise: worst mean",
        float((away / their_sd[places]).max()),
        "posterior sd",
        ("at most", 0.1 if name == "normal" else 0.25),
        f"{float((away / error[places]).max()):.1f} Monte Carlo errors; CPU: ours "
        f"{ours_s * 1e3:.0f} ms, PyMC {seconds:.0f} s",
    )
    ratio = sd[places] / their_sd[places]
    yield Result(
        f"effects on the price against PyMC, {name} noise: worst sd, as a ratio",
        float(ratio[np.abs(np.log(ratio)).argmax()]),
        "",
        None,
        f"from {ratio.min():.3f} to {ratio.max():.3f}",
    )


def measure(count: int = 24, seed: int = 11) -> Iterator[Result]:
    """Compare with normal and with heavy tails."""
    drawn = planted_market(count, np.random.default_rng(seed))
    priced = fit_market(drawn.rows, load_market(), FLAT, currency="USD", as_of=LAST, years=YEARS)
    x, y, prior = priced.problem
    yield from compare(x, y, replace(prior, tails=math.inf), seed, "normal")
    yield from compare(x, y, prior, seed, "Student-t")


if __name__ == "__main__":
    for result in measure(*(int(one) for one in sys.argv[1:])):
        print(result.what, f"{result.figure:.3f}", result.unit, result.verdict, result.beside)
