"""Six grades on a written scale, by one or two people who do not see each other's.

Agreement of two graders is Cohen's kappa with linear weights: the share of agreement above what
chance would give, a step apart counting half as much as two (Cohen, *Psychological Bulletin* 70
(1968) 213). Its standard error is the large-sample one under no hypothesis (Fleiss, Cohen and
Everitt, *Psychological Bulletin* 72 (1969) 323).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from heelstamp.casework.condition.vocabulary import LETTERS, SCALE
from heelstamp.catalogue import DossierState, Grade
from heelstamp.errors import InputError


@dataclass(frozen=True, slots=True)
class AspectGrade:
    """What stands of one aspect: the letter of each person, in the order in which they graded.

    Attributes
    ----------
    aspect
        One of the six, or empty for the whole.
    by
        The last letter that each person gave, by person.
    """

    aspect: str
    by: Mapping[str, Grade]

    @property
    def letter(self) -> str:
        """The letter that counts: the worse of two people's, since a buyer relies on it."""
        return max((one.grade for one in self.by.values()), default="")

    @property
    def apart(self) -> int:
        """Steps between the best and the worst letter given."""
        steps = [LETTERS.index(one.grade) for one in self.by.values()]
        return max(steps) - min(steps) if steps else 0


def grades(state: DossierState) -> tuple[AspectGrade, ...]:
    """The six aspects in the order of the scale, and the whole last.

    Where a record does not tell whose letters they are, each is another person's: it holds the one
    that stands of each.
    """
    found: dict[str, dict[str, Grade]] = {aspect: {} for aspect in (*SCALE, "")}
    for one in state.of(Grade).values():
        if one.aspect in found:
            found[one.aspect][state.entered[one.id].by or one.id] = one
    return tuple(AspectGrade(aspect, by) for aspect, by in found.items())


def blind_to(state: DossierState, grader: str) -> frozenset[str]:
    """Aspects of which *grader* may not see another's letter yet: their own is not given."""
    return frozenset(one.aspect for one in grades(state) if one.by and grader not in one.by)


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far two graders agree.

    Attributes
    ----------
    pairs
        Number of things that both graded.
    same, within_one
        Shares on which they gave the same letter, and letters at most one step apart.
    kappa, uncertainty
        Weighted kappa and its standard error; None where all letters of both are one letter.
    """

    pairs: int
    same: float
    within_one: float
    kappa: float | None
    uncertainty: float | None


def agreement(pairs: Iterable[tuple[str, str]]) -> Agreement:
    """Compare the letters of two graders.

    Raises
    ------
    InputError
        No pair, or a letter that is not on the scale.
    """
    rows = list(pairs)
    if not rows:
        raise InputError("nothing that two people graded", remedy="Let a second person grade.")
    strange = sorted({one for pair in rows for one in pair} - set(LETTERS))
    if strange:
        raise InputError("not a grade", received=", ".join(strange), remedy="Use A (best) to E.")
    steps = np.array([[LETTERS.index(one) for one in pair] for pair in rows])
    off = np.abs(steps[:, 0] - steps[:, 1])
    size = len(LETTERS)
    shares = np.zeros((size, size))
    np.add.at(shares, (steps[:, 0], steps[:, 1]), 1.0 / len(rows))
    weight = 1.0 - np.abs(np.subtract.outer(range(size), range(size))) / (size - 1)
    kappa, doubt = _kappa(shares, weight, len(rows))
    return Agreement(len(rows), float((off == 0).mean()), float((off <= 1).mean()), kappa, doubt)


def _kappa(shares: np.ndarray, weight: np.ndarray, count: int) -> tuple[float | None, float | None]:
    row, column = shares.sum(axis=1), shares.sum(axis=0)
    seen, chance = float((weight * shares).sum()), float(row @ weight @ column)
    if math.isclose(chance, 1.0):
        return None, None
    kappa = (seen - chance) / (1.0 - chance)
    mean = (weight @ column)[:, None] + (row @ weight)[None, :]
    inner = weight * (1.0 - chance) - mean * (1.0 - seen)
    variance = float((shares * inner**2).sum()) - (seen * chance - 2.0 * chance + seen) ** 2
    return kappa, math.sqrt(max(variance, 0.0) / count) / (1.0 - chance) ** 2


def graded_twice(states: Iterable[DossierState]) -> list[tuple[str, str]]:
    """The letters of the first two people who graded each aspect of each instrument."""
    found: list[tuple[str, str]] = []
    for state in states:
        for one in grades(state):
            letters = [grade.grade for grade in one.by.values()]
            if one.aspect and len(letters) > 1:
                found.append((letters[0], letters[1]))
    return found
