"""Likelihood of everything seen on each part, as a function of completion month and timing class.

For part p: C_class(t) is the product of its features and serial, K_class(t) its marks. Marked
parts of one batch share a make month when they come from one lot: for the members B that are
original, H_B(t) = q sum_m lag(t - m) prod_{p in B} R_p(m) + (1 - q) prod_{p in B} K_p(t), with q
the share of instruments whose parts came from one lot and R_p(m) the likelihood of p's marks.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.model import Array
from heelstamp.dating.table import EvidenceTable
from heelstamp.dating.timing import over_lag

Members = tuple[str, ...]


@dataclass
class PartFactors:
    """Factors of one part for the rows of a chunk.

    Attributes
    ----------
    timed
        C of built and of period parts, (n, 2, months), or None when nothing was seen.
    later
        C of later parts, which does not depend on the month, (n,).
    marks
        K as ``MarkColumns.likelihood`` gives it, or None.
    donor
        Likelihood if the part came from another instrument: averaged over that one's month, (n,).
    """

    timed: Array | None
    later: Array
    marks: tuple[Array, Array] | None
    donor: Array | None


def part_factors(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, part: str
) -> PartFactors:
    """Compute the factors of *part* for the instruments in *rows*."""
    timed: Array | None = None
    later = np.ones(rows.stop - rows.start)
    for column in compiled.feature_of_part.get(part, ()):
        seen = table.features[rows, column]
        if seen.max() < 0:
            continue
        tables = compiled.features[column]
        if timed is None:
            timed = tables.timed[seen]
        else:
            timed *= tables.timed[seen]
        later *= tables.later[seen]
    scheme = compiled.model.serial
    if scheme is not None and scheme.part == part and compiled.serial is not None:
        month, weight = table.serial_month[rows], table.serial_weight[rows]
        if month.min() < len(compiled.model.completion):
            number = compiled.serial.timed[month[:, 0]]
            # one nominal month of weight one is the usual case
            for row in np.nonzero((weight[:, 0] != 1) | (weight[:, 1:] > 0).any(axis=1))[0]:
                known = weight[row] > 0
                several = compiled.serial.timed[month[row, known]]
                number[row] = np.tensordot(weight[row, known], several, axes=1)
            timed = number if timed is None else timed * number
            later = later * (compiled.serial.later[month] * weight).sum(axis=1)
    columns = table.marks.get(part)
    marks = None if columns is None else columns.likelihood(compiled, rows)
    donor: Array | None = None
    if compiled.has_donor[compiled.part_index[part]]:
        donor = _donor(compiled, timed, marks, len(later))
    return PartFactors(timed, later, marks, donor)


def _donor(
    compiled: CompiledModel, timed: Array | None, marks: tuple[Array, Array] | None, count: int
) -> Array:
    if timed is None and marks is None:
        return np.ones(count)
    own = np.ones((count, 1)) if timed is None else timed[:, 0]
    if marks is not None:
        own = own * marks[0][:, 0]
    average: Array = own @ compiled.prior
    return average


def joint_marks(
    compiled: CompiledModel,
    table: EvidenceTable,
    rows: slice,
    members: dict[str, PartFactors],
    share: float,
) -> dict[Members, Array | None]:
    """Give H_B(t), (n, months), for every set B of batch members; None stands for ones.

    With R_p = x_p + f_p (f the floor), the average over the lag of a product over B is the sum
    over subsets C of B of the average of prod_C x, times prod_{B - C} f; x is zero at almost
    every month, and for a single member its average is K - f.
    """
    marked = [name for name, one in members.items() if one.marks is not None]
    made = {name: table.marks[name].make_month(compiled, rows) for name in marked}
    average: dict[Members, Array] = {}
    for name in marked:
        marks = members[name].marks
        assert marks is not None
        average[(name,)] = marks[0][:, 0] - made[name][1][:, None]
    for size in range(2, len(marked) + 1):
        for subset in combinations(marked, size):
            product = made[subset[0]][0]
            for name in subset[1:]:
                product = product * made[name][0]
            average[subset] = over_lag(product, compiled.plain_lag(subset[0]))
    floors = {name: one[1][:, None] for name, one in made.items()}
    joint: dict[Members, Array | None] = {}
    for size in range(len(members) + 1):
        for subset in combinations(members, size):
            inside = tuple(name for name in subset if name in marked)
            joint[subset] = _joint(inside, average, floors, share)
    return joint


def _joint(
    inside: Members, average: dict[Members, Array], floors: dict[str, Array], share: float
) -> Array | None:
    if not inside:
        return None
    together: Array = np.prod([floors[name] for name in inside], axis=0)
    for size in range(1, len(inside) + 1):
        for subset in combinations(inside, size):
            term = average[subset]
            for name in inside:
                if name not in subset:
                    term = term * floors[name]
            together = together + term
    if len(inside) == 1 or share == 1:
        return together
    apart = np.ones(1)
    for name in inside:
        apart = apart * (average[(name,)] + floors[name])
    mixed: Array = share * together + (1 - share) * apart
    return mixed
