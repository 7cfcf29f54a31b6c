"""What is measured of every case that an inspection may lead to.

Of each hypothetical posterior: entropy of the completion month; width and ends of the printed 90 %
range; entropy of each part's state; whether the printed word about a part would be another; a
money figure when one is given. The expectation of these rows is the plan. The word of a part is
``wording.part_verdict`` with its word of probability, that of the coating ``finish_verdict``; they
are computed here for many rows at once, and tests hold them to those functions.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.dating import (
    CompiledModel,
    Evidence,
    Expected,
    FeatureSeen,
    Mark,
    Observation,
    Posterior,
    SignSeen,
    entropy_bits,
)
from heelstamp.dating.model import Array, Index
from heelstamp.wording.about_parts import DONOR, LATER, ORIGINAL, PERIOD
from heelstamp.wording.strength import PROBABLY, VERY_PROBABLY

TAIL = 0.05
"""Probability left out on either side of the printed range."""

Flags = npt.NDArray[np.bool_]
MoneyFigure = Callable[[CompiledModel, Sequence[Evidence]], Array]
"""A figure in money (or of log price) for each row of evidence, whose fall is the gain."""

FINISH_STATES = (ORIGINAL, "touched_up", "old_refinish", "recent_refinish")

_DATE, _WIDTH, _ENDS, _WORDS, _MONEY, _REGRET, _FIXED = range(7)


@dataclass(frozen=True)
class Outlook:
    """What is expected after an inspection, against what stands now.

    Attributes
    ----------
    date_bits, date_error
        Expected gain on the completion month; its standard error, or None when it is exact.
    width_now, width
        Width of the 90 % range in months, both ends counted: now, and expected.
    ends_move
        P(either end of the range moves).
    part_bits, part_error
        Expected gain on the state of each part, and standard errors.
    words_change
        For each part P(what is said of it changes), were it examined now and then.
    any_words
        P(what is said of any part examined so far changes).
    money, money_now
        Expected fall of the money figure and its value now, or None.
    regret, regret_now
        The same of what a seller is to expect to lose by a price that is not right, or None.
    """

    date_bits: float
    date_error: float | None
    width_now: float
    width: float
    ends_move: float
    part_bits: Mapping[str, float]
    part_error: Mapping[str, float] | None
    words_change: Mapping[str, float]
    any_words: float
    money: float | None
    money_now: float | None
    regret: float | None = None
    regret_now: float | None = None


class Measures:
    """The measure taken of each row, and its reading as an outlook.

    Parameters
    ----------
    evidence
        What stands now.
    examined
        Parts of which something was read or found absent.
    covered_signs
        Signs, by the engine's names, that tell of covered areas of the coating.
    covered
        Such a sign was seen.
    outside, behind
        Parts seen only while the way to them was shut; features that are seen behind a step.
    money, regret
        See `MoneyFigure`.
    """

    def __init__(
        self,
        compiled: CompiledModel,
        evidence: Evidence,
        now: Posterior,
        *,
        examined: Collection[str],
        covered_signs: Collection[str],
        covered: bool,
        outside: Collection[str] = (),
        behind: Collection[str] = (),
        money: MoneyFigure | None,
        regret: MoneyFigure | None = None,
    ) -> None:
        self.compiled, self.length = compiled, len(evidence)
        self.money, self.regret = money, regret
        self.covered_signs, self.covered = frozenset(covered_signs), covered
        model = compiled.model
        self.outside = frozenset(outside)
        self.telling = {one.name: one.part for one in model.signs if one.part is not None}
        self.telling |= {one.name: one.part for one in model.features if one.name in behind}
        self.parts = [one.name for one in model.parts if one.name != model.anchor]
        self.states = {one.name: one.states for one in model.parts}
        self.examined = np.array([part in examined for part in self.parts])
        self.words = self._words(now, [evidence])[0]
        self.ends = range_ends(now.months)[0]
        self.now = self(now, [evidence])[0]

    def __call__(self, posterior: Posterior, rows: Sequence[Evidence]) -> Array:
        """The columns of each row: fixed ones, entropies of parts, changes of words."""
        ends = range_ends(posterior.months)
        changed = self._words(posterior, rows) != self.words
        fixed = np.empty((len(rows), _FIXED))
        fixed[:, _DATE] = entropy_bits(posterior.months)
        fixed[:, _WIDTH] = ends[:, 1] - ends[:, 0] + 1
        fixed[:, _ENDS] = (ends != self.ends).any(axis=1)
        fixed[:, _WORDS] = changed[:, self.examined].any(axis=1)
        fixed[:, _MONEY] = 0.0 if self.money is None else self.money(self.compiled, rows)
        fixed[:, _REGRET] = 0.0 if self.regret is None else self.regret(self.compiled, rows)
        entropies = [entropy_bits(posterior.states[part])[:, None] for part in self.parts]
        return np.hstack([fixed, *entropies, changed.astype(float)])

    def read(self, expected: Expected) -> Outlook:
        """Compare an expectation with what stands now."""
        values, now, count = expected.values, self.now, len(self.parts)
        falls = now - values
        entropies, words = slice(_FIXED, _FIXED + count), slice(_FIXED + count, None)
        error = expected.error
        return Outlook(
            date_bits=float(falls[_DATE]),
            date_error=None if error is None else float(error[_DATE]),
            width_now=float(now[_WIDTH]),
            width=float(values[_WIDTH]),
            ends_move=_share(values[_ENDS]),
            part_bits=dict(zip(self.parts, falls[entropies].tolist(), strict=True)),
            part_error=None
            if error is None
            else dict(zip(self.parts, error[entropies].tolist(), strict=True)),
            words_change=dict(zip(self.parts, map(_share, values[words]), strict=True)),
            any_words=_share(values[_WORDS]),
            money=None if self.money is None else float(falls[_MONEY]),
            money_now=None if self.money is None else float(now[_MONEY]),
            regret=None if self.regret is None else float(falls[_REGRET]),
            regret_now=None if self.regret is None else float(now[_REGRET]),
        )

    def _words(self, posterior: Posterior, rows: Sequence[Evidence]) -> Index:
        """A number for what would be printed of each part, (rows, parts)."""
        found = np.empty((len(rows), len(self.parts)), dtype=np.intp)
        for place, part in enumerate(self.parts):
            states = self.states[part]
            if states == FINISH_STATES:
                found[:, place] = finish_words(posterior.states[part], self._covered(rows))
            else:
                shut = self._shut(part, rows) if part in self.outside else None
                found[:, place] = part_words(posterior.states[part], states, shut)
        return found

    def _shut(self, part: str, rows: Sequence[Evidence]) -> Flags:
        """In which rows a part is still seen by its type alone, (rows,)."""
        return np.array(
            [not any(self._of(one) == part for one in row[self.length :]) for row in rows]
        )

    def _of(self, one: Observation) -> str | None:
        """The part that a look itself is of."""
        if isinstance(one, Mark):
            return one.part
        name = one.sign if isinstance(one, SignSeen) else None
        name = one.feature if isinstance(one, FeatureSeen) else name
        return self.telling.get(name or "")

    def _covered(self, rows: Sequence[Evidence]) -> Flags:
        return np.array(
            [
                self.covered
                or any(
                    isinstance(one, SignSeen) and one.sign in self.covered_signs
                    for one in row[self.length :]
                )
                for row in rows
            ]
        )


def _share(value: float) -> float:
    """A probability; a sum of many doubles may miss its bounds by some 1e-15."""
    return float(min(1.0, max(0.0, value)))


def range_ends(months: Array) -> Index:
    """First and last position of the central 90 % range of each row, (n, 2)."""
    reached = np.cumsum(months, axis=1)
    # as in dating.summary.quantile: the sum of many doubles may miss one by some 1e-16
    return np.stack(
        [(reached >= level - 1e-12).argmax(axis=1) for level in (TAIL, 1 - TAIL)], axis=1
    )


def part_words(states: Array, names: Sequence[str], shut: Flags | None = None) -> Index:
    """A number for what ``part_verdict`` and ``probability_word`` say of each row.

    *shut*: in which rows the part is seen by its type alone, and never called original.
    """
    count = len(names)

    def share(name: str) -> Array:
        return states[:, names.index(name)] if name in names else np.zeros(len(states))

    # on a tie 'original' goes first
    order = [names.index(ORIGINAL), *(i for i in range(count) if names[i] != ORIGINAL)]
    best = np.array(order)[states[:, order].argmax(axis=1)]
    top = states.max(axis=1)
    single = np.isin(best, [names.index(one) for one in (ORIGINAL, LATER, DONOR) if one in names])
    if shut is not None:
        single &= ~(shut & (best == names.index(ORIGINAL)))
    together = np.minimum(1.0, share(ORIGINAL) + share(PERIOD))
    other = np.clip(1 - share(ORIGINAL), 0.0, 1.0)
    verdict = np.select(
        [single & (top >= PROBABLY), together >= PROBABLY, other >= PROBABLY],
        [best + 1, np.full(len(states), count + 1), np.full(len(states), count + 2)],
        0,
    )
    strength = np.select(
        [single & (top >= PROBABLY), together >= PROBABLY, other >= PROBABLY],
        [top, together, other],
        0.0,
    )
    return np.asarray(2 * verdict + (strength >= VERY_PROBABLY), dtype=np.intp)


def finish_words(states: Array, covered: Flags) -> Index:
    """A number for what ``finish_verdict`` and ``probability_word`` say of each row."""
    best, top = states.argmax(axis=1), states.max(axis=1)
    first = np.minimum(1.0, states[:, :2].sum(axis=1))  # the first finish, touched or not
    single, told = top >= PROBABLY, covered & (np.maximum(top, first) >= PROBABLY)
    strength = np.where(single, top, first)
    # both refinished states have one verdict
    verdict = np.where(told, np.where(single, np.minimum(best, 2) + 1, 4), 0)
    return np.asarray(2 * verdict + (told & (strength >= VERY_PROBABLY)), dtype=np.intp)
