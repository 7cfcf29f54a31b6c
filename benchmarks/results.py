"""One figure of a benchmark, how it stands to its goal, and the table of all of them."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

Clock = Callable[[], float]
Bound = Literal["at most", "at least"]


@dataclass(frozen=True)
class Result:
    """A figure.

    Attributes
    ----------
    what, figure, unit
        What was measured and what came out; None when it could not be measured.
    goal
        ("at most" or "at least", number), or None when there is none.
    beside
        What stands beside it: a peer's ratio in the same run, or why there is no figure.
    """

    what: str
    figure: float | None
    unit: str
    goal: tuple[Bound, float] | None = None
    beside: str = ""

    @property
    def verdict(self) -> str:
        """Say whether the goal was met."""
        if self.figure is None:
            return "not measured"
        if self.goal is None:
            return ""
        bound, number = self.goal
        met = self.figure <= number if bound == "at most" else self.figure >= number
        return "met" if met else "MISSED"

    def cells(self) -> tuple[str, str, str, str, str]:
        """The row of the table."""
        figure = "" if self.figure is None else f"{brief(self.figure)} {self.unit}".strip()
        goal = "" if self.goal is None else f"{self.goal[0]} {brief(self.goal[1])}"
        return self.what, figure, goal, self.verdict, self.beside


def brief(number: float) -> str:
    """Write three significant digits, and whole numbers from a hundred on."""
    if number != 0 and abs(number) < 1e-3:
        return f"{number:.0e}"
    return f"{number:,.0f}" if abs(number) >= 100 else f"{number:.3g}"


def seconds(work: Callable[[], object], repeat: int = 7, clock: Clock = time.process_time) -> float:
    """The median time of *work* over *repeat* runs; the first run before them is not timed."""
    work()
    taken = []
    for _ in range(repeat):
        begun = clock()
        work()
        taken.append(clock() - begun)
    return statistics.median(taken)


def write_table(results: Sequence[Result]) -> str:
    """Lay the results out as one table."""
    head = ("measured", "figure", "goal", "verdict", "beside it, in the same run")
    rows = [head, *(one.cells() for one in results)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(head) - 1)]
    lines = []
    for row in rows:
        cells = [
            cell.rjust(width) if column == 1 else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row[:-1], widths, strict=True))
        ]
        lines.append("  ".join([*cells, row[-1]]).rstrip())
    lines.insert(1, "-" * max(map(len, lines)))
    return "\n".join(lines)
