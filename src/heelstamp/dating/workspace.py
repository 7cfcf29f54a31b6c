"""Memory that one chunk of instruments after another works in.

Arrays of this size come fresh from the operating system each time, and clearing their pages takes
longer than the arithmetic on them.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from heelstamp.dating.model import Array


class Workspace:
    """Arrays by shape, handed out one after the other until all are taken back at once."""

    def __init__(self) -> None:
        self._kept: dict[tuple[int, ...], list[Array]] = defaultdict(list)
        self._out: dict[tuple[int, ...], int] = defaultdict(int)

    def array(self, *shape: int) -> Array:
        """An array that nothing else uses, with whatever stands in it."""
        kept, place = self._kept[shape], self._out[shape]
        if place == len(kept):
            kept.append(np.empty(shape))
        self._out[shape] = place + 1
        return kept[place]

    def take_back(self) -> None:
        """Count every array as free again."""
        self._out.clear()

    def product(self, one: Array, other: Array) -> Array:
        """Multiply two arrays of three axes that broadcast."""
        shape = tuple(max(a, b) for a, b in zip(one.shape, other.shape, strict=True))
        return np.multiply(one, other, out=self.array(*shape))

    def matrix_product(self, one: Array, other: Array) -> Array:
        """Multiply stacks of matrices."""
        out = self.array(len(one), one.shape[1], other.shape[2])
        return np.matmul(one, other, out=out)
