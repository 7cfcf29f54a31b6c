"""The same posterior by variable elimination in pgmpy.

The network has the completion month as one node of 672 states, a node for the history class, one
for each assembly (disturbed or not) and one for the state of each part; make months are summed
out beforehand into the tables of ``plain_factors``. pgmpy is given its factors ready-made: only
the query is timed, while this program is timed from observations to every marginal.
"""

from __future__ import annotations

import logging
import warnings
from typing import Any

import numpy as np

from heelstamp.dating import DatingModel
from plain_factors import PlainFactors

MONTH, HISTORY = "completion month", "history"


class Elimination:
    """One instrument as a Markov network, and queries to it."""

    def __init__(self, model: DatingModel, factors: PlainFactors) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from pgmpy.factors.discrete import DiscreteFactor
            from pgmpy.inference import VariableElimination
            from pgmpy.models import DiscreteMarkovNetwork
        logging.getLogger("pgmpy").setLevel(logging.ERROR)
        self.model = model
        self.tables: list[Any] = []

        def add(names: list[str], table: object) -> None:
            values = np.asarray(table, dtype=float)
            self.tables.append(DiscreteFactor(names, list(values.shape), values))

        add([MONTH], model.prior)
        add([HISTORY], [p for _, p in model.history])
        for assembly in model.assemblies:
            disturbed = np.array(assembly.disturbed)
            signs = factors.assemblies[assembly.name]
            given = np.stack([1 - disturbed, disturbed], axis=1) * signs
            add([HISTORY, f"{assembly.name} disturbed"], given)
            for name in assembly.parts:
                part = model.part(name)
                add([f"{assembly.name} disturbed", name], [part.undisturbed, part.disturbed])
                add([MONTH, name], factors.parts[name].T)
        for lot, table in factors.lots.items():
            add([MONTH, *lot], table)
        network = DiscreteMarkovNetwork()
        for one in self.tables:
            network.add_nodes_from(one.variables)
            scope = one.variables
            network.add_edges_from((a, b) for i, a in enumerate(scope) for b in scope[i + 1 :])
        network.add_factors(*self.tables)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            self.engine = VariableElimination(network)

    def months(self, order: str) -> np.ndarray:
        """P(completion month | all), eliminating in *order*."""
        return self._query(MONTH, order)

    def states(self, part: str, order: str) -> np.ndarray:
        """P(state of *part* | all)."""
        return self._query(part, order)

    def marginals(self, order: str) -> dict[str, np.ndarray]:
        """Every marginal that an inference of this program gives."""
        names = [part.name for part in self.model.parts]
        names += [f"{one.name} disturbed" for one in self.model.assemblies]
        return {name: self._query(name, order) for name in [MONTH, HISTORY, *names]}

    def _query(self, name: str, order: str) -> np.ndarray:
        found = self.engine.query([name], elimination_order=order, show_progress=False)
        return np.asarray(found.values / found.values.sum())
