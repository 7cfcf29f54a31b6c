"""The same posterior by NUTS in PyMC, discrete states summed out.

NUTS moves in continuous space only, so history class, disturbance and part states are summed out
within the log density, and the completion month is relaxed to a real number on the grid: between
two months each factor is interpolated linearly. The factors are those of ``plain_factors``, given
ready-made; compilation is not timed. Figure: CPU seconds for 1,000 effective draws of the month,
warm-up included.
"""

from __future__ import annotations

import logging
import time
import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np

from heelstamp.dating import DatingModel
from plain_factors import PlainFactors

DRAWS, WARM_UP, CHAINS = 2000, 1000, 2


@dataclass(frozen=True)
class Sampled:
    """CPU seconds, effective draws of the month, and the draws themselves."""

    seconds: float
    effective: float
    months: np.ndarray

    @property
    def for_thousand(self) -> float:
        """CPU seconds for 1,000 effective draws."""
        return 1000 * self.seconds / self.effective


def sample(model: DatingModel, factors: PlainFactors, seed: int) -> Sampled:
    """Sample one instrument."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import arviz
        import pymc

        logging.getLogger("pymc").setLevel(logging.ERROR)
        with _network(model, factors):
            initial, step = pymc.init_nuts(
                init="jitter+adapt_diag", chains=CHAINS, random_seed=seed, progressbar=False
            )
            begun = time.process_time()
            trace = pymc.sample(
                draws=DRAWS,
                tune=WARM_UP,
                chains=CHAINS,
                cores=1,
                step=step,
                initvals=initial,
                random_seed=seed,
                progressbar=False,
                compute_convergence_checks=False,
            )
            seconds = time.process_time() - begun
        effective = float(np.asarray(arviz.ess(trace, var_names=["month"])["month"]))
        months = trace.posterior["month"].to_numpy().ravel()
    return Sampled(seconds, effective, months)


def _network(model: DatingModel, factors: PlainFactors) -> Any:
    import pymc
    import pytensor.tensor as pt

    span = len(model.prior)
    lots = {part: lot for lot in factors.lots for part in lot}
    with pymc.Model() as network:
        month = pymc.Uniform("month", 0, span - 1)
        low = pt.clip(pt.floor(month), 0, span - 2).astype("int64")
        share = month - low

        def at(table: np.ndarray) -> Any:
            """Interpolate a table whose first axis is the month."""
            fixed = pt.as_tensor_variable(np.ascontiguousarray(table))
            return (1 - share) * fixed[low] + share * fixed[low + 1]

        by_history = pt.as_tensor_variable(np.array([p for _, p in model.history]))
        for assembly in model.assemblies:
            inside = pt.as_tensor_variable(factors.assemblies[assembly.name])
            done: set[str] = set()
            for name in assembly.parts:
                if name in done:
                    continue
                part = model.part(name)
                prior = np.array([part.undisturbed, part.disturbed])
                seen = at(factors.parts[name].T)
                if name not in lots:
                    inside = inside * (pt.as_tensor_variable(prior) * seen).sum(axis=1)
                    continue
                first, second = lots[name]
                done |= {first, second}
                mate = model.part(second if name == first else first)
                one = prior * 1.0
                other = np.array([mate.undisturbed, mate.disturbed])
                table = factors.lots[first, second]
                if name == second:
                    table = table.transpose(0, 2, 1)
                pair = at(table) * seen[:, None] * at(factors.parts[mate.name].T)
                shares = one[:, :, None] * other[:, None, :]
                inside = inside * (pt.as_tensor_variable(shares) * pair).sum(axis=(1, 2))
            disturbed = np.array(assembly.disturbed)
            given = pt.as_tensor_variable(np.stack([1 - disturbed, disturbed], axis=1))
            by_history = by_history * (given * inside).sum(axis=1)
        density = pt.log(at(np.asarray(model.prior))) + pt.log(by_history.sum())
        pymc.Potential("evidence", density)
    return network
