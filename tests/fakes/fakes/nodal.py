"""A plain nodal solver for any linear circuit of two-terminal parts, written apart from the engine.

Modified nodal analysis (Ho, Ruehli, Brennan 1975): one equation a node, one more for each voltage
source. Node "0" is ground. Nothing here knows what a pickup is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np


@dataclass
class Network:
    """Parts as (kind, node, node, value): R ohms, L henries, C farads, V volts."""

    parts: list[tuple[str, str, str, float]] = field(default_factory=list)

    def add(self, kind: str, a: str, b: str, value: float) -> None:
        self.parts.append((kind, a, b, value))

    def solve(self, frequency: float) -> dict[str, complex]:
        """The voltage of each node at one frequency."""
        s = 2j * math.pi * frequency
        nodes = sorted({n for _, a, b, _ in self.parts for n in (a, b)} - {"0"})
        sources = [part for part in self.parts if part[0] == "V"]
        size = len(nodes) + len(sources)
        matrix, right = np.zeros((size, size), complex), np.zeros(size, complex)
        place = {name: number for number, name in enumerate(nodes)}

        def stamp(a: str, b: str, admittance: complex) -> None:
            for one, other in ((a, b), (b, a)):
                if one != "0":
                    matrix[place[one], place[one]] += admittance
                    if other != "0":
                        matrix[place[one], place[other]] -= admittance

        for kind, a, b, value in self.parts:
            if kind == "R":
                stamp(a, b, 1 / max(value, 1e-6))
            elif kind == "C":
                stamp(a, b, s * value)
            elif kind == "L":
                stamp(a, b, 1 / (s * value))
        for number, (_, a, b, value) in enumerate(sources, start=len(nodes)):
            for node, sign in ((a, 1.0), (b, -1.0)):
                if node != "0":
                    matrix[number, place[node]] = matrix[place[node], number] = sign
            right[number] = value
        found = np.linalg.solve(matrix, right)
        return {name: complex(found[number]) for name, number in place.items()} | {"0": 0j}

    def resistance(self, a: str, b: str) -> float:
        """The direct-current resistance between two nodes of a network of resistors."""
        fed = Network([*self.parts, ("V", a, b, 1.0), ("R", a, b, 1e15)])
        nodes = sorted({n for _, p, q, _ in fed.parts for n in (p, q)} - {b})
        current = 0.0
        volts = fed.grounded(b, nodes)
        for kind, p, q, value in self.parts:
            if kind == "R" and a in (p, q):
                other = q if p == a else p
                current += (volts[a] - volts[other]) / value
        return 1.0 / current

    def grounded(self, ground: str, nodes: list[str]) -> dict[str, float]:
        """The node voltages of a network of resistors and one source, *ground* at nothing."""
        renamed = [
            (kind, *("0" if n == ground else f"n{n}" for n in (a, b)), value)
            for kind, a, b, value in self.parts
        ]
        found = Network(renamed).solve(1.0)  # type: ignore[arg-type]
        return {n: found[f"n{n}"].real for n in nodes} | {ground: 0.0}


def jack_network(pot: float, pickup: float, share: float, wiring: str) -> Network:
    """The resistors between jack "J" and ground, *share* of the track below the wiper."""
    net = Network()
    lower, upper = max(pot * share, 1e-3), max(pot * (1 - share), 1e-3)
    if wiring == "pickup at the track's end":
        net.add("R", "A", "0", pickup)
        net.add("R", "A", "J", upper)
        net.add("R", "J", "0", lower)
    else:
        net.add("R", "W", "0", pickup)
        net.add("R", "W", "0", lower)
        net.add("R", "W", "J", upper)
    return net
