"""What can be guessed from a shop's tables: the months of its instruments, by greedy pursuit.

The guesser has the tables of one shop as they are sent (rounded, less their maximum), the edition,
and the number of instruments. Each instrument adds to every table one of two shapes (the older or
the newer variant) or none; a shape depends on the month, on how sharply the instrument was dated,
and on how much of its likelihood no curve can move. Instruments are added one by one, each time the
one whose shapes explain most of what is left in all tables together; then each is taken out in turn
and the best one put in its place (orthogonal matching pursuit with swaps: Mallat and Zhang 1993 for
the pursuit, from memory). Guessed and true months are paired so that as many as possible lie
within `NEAR` months.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.optimize import linear_sum_assignment

from heelstamp.dating.change_quadrature import CurveGrid

NEAR = 3
"""Months within which a guess counts as found."""
SHARPNESS = (1.0, 3.0, 6.0, 12.0)
"""Standard deviations of an instrument's own date, in months."""
FLOORS = (0.004, 0.03, 0.15)
"""Shares of a look's likelihood that no curve moves."""
WIDTHS_USED = 3
"""The narrowest widths of the tables, where an instrument shows as a step."""
SWAPS = 3
"""Times that every instrument is put in place anew."""

Floats = npt.NDArray[np.float64]


class Guesser:
    """The shapes that an instrument of each month can add to a table.

    Parameters
    ----------
    blur
        Standard deviation, in months, by which dates were blurred, which the guesser knows.
    """

    def __init__(self, grid: CurveGrid, *, blur: float = 0.0) -> None:
        self.first = grid.points[0]
        curves = grid.curves.reshape(len(grid.points), -1, len(grid.months))
        used = curves[:, :WIDTHS_USED].reshape(-1, len(grid.months))
        months = np.arange(grid.points[0], grid.points[-1] + 1)
        shapes, self.months = [], np.repeat(months, len(SHARPNESS) * len(FLOORS))
        for month in months:
            for sharp in SHARPNESS:
                away = (grid.months - month) / np.hypot(sharp, blur)
                date = np.exp(-0.5 * away**2)
                gone = used @ (date / date.sum())
                both = np.stack([1 - gone, gone])
                shapes += [np.log((1 - floor) * both + floor) for floor in FLOORS]
        shapes_ = np.array(shapes)
        self.shapes: Floats = shapes_ - shapes_.mean(axis=2, keepdims=True)
        self.sizes: Floats = (self.shapes**2).sum(axis=2)

    def months_in(self, tables: Sequence[Floats], count: int) -> list[float]:
        """Guess the months of *count* instruments.

        Parameters
        ----------
        tables
            In nats, (centres, widths) each.
        """
        left = np.array([one[:, :WIDTHS_USED].ravel() for one in tables])
        left -= left.mean(axis=1, keepdims=True)
        found = []
        for _ in range(count):
            found.append(self._best(left))
            left -= self._added(found[-1])
        for _ in range(SWAPS if count > 1 else 0):
            for place in range(count):
                left += self._added(found[place])
                found[place] = self._best(left)
                left -= self._added(found[place])
        return [float(self.months[one]) for one, _ in found]

    def _best(self, left: Floats) -> tuple[int, npt.NDArray[np.int64]]:
        """The shape that explains most, and the variant in each table (2 for none)."""
        gain = 2 * np.einsum("svc,fc->sfv", self.shapes, left, optimize=True)
        gain -= self.sizes[:, None, :]
        none = np.zeros((*gain.shape[:2], 1))
        gain = np.concatenate([gain, none], axis=2)
        best = int(gain.max(axis=2).sum(axis=1).argmax())
        return best, gain[best].argmax(axis=1)

    def _added(self, one: tuple[int, npt.NDArray[np.int64]]) -> Floats:
        shape, variants = one
        both = np.concatenate([self.shapes[shape], np.zeros((1, self.shapes.shape[2]))])
        return both[variants]


def share_found(guessed: Sequence[float], true: Sequence[float]) -> float:
    """Share of true months that have a guess of their own within `NEAR` months."""
    far = np.abs(np.subtract.outer(np.array(true), np.array(guessed))) > NEAR
    rows, columns = linear_sum_assignment(far)
    return float(1 - far[rows, columns].mean())
