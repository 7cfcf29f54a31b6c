"""The contexts of one assembly for what was looked at, and which of them count as one row.

A *context* x is a combination of the assembly (``structure``) with the careful hands that more
than one look depends on. Given x every part is by itself; a part takes one *key* a context: which
of its tables holds for each state of its leaves, how likely these are, and which row of the looks
on them applies. Contexts that mean the same for all parts with dated evidence are one *row*. This
depends on the pattern of what was looked at and not on what was seen, so it is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from heelstamp.dating.model import Array, DatingModel, Index, Timing


@dataclass(frozen=True)
class Pattern:
    """What was looked at in one assembly: parts with dated evidence, parts with signs, openings."""

    dated: tuple[str, ...]
    signed: frozenset[str]
    looks: frozenset[str]
    mixed: frozenset[int]


@dataclass(frozen=True)
class PartKeys:
    """How one part depends on the context.

    Attributes
    ----------
    part
        Its name; empty for openings that serve no part.
    of_context
        Key of each context, (contexts,).
    prior
        P(state of the leaves | key), (keys, leaf states).
    modes
        Which table of the part holds, (keys, leaf states): see ``modes_of``.
    leaves, opened
        Openings summed here, as positions in the model, and whether each leaf state has them
        open, (leaf states, leaves).
    looks
        Leaves that were looked at with the row of the look that applies, (keys, leaf states).
    effective, fixed
        For a dated part: its table mixture a key, (keys,), where keys whose leaves change
        nothing share one a table; and for each mixture that table, or -1.
    mixed_key
        A key of each mixture.
    tables
        How many tables the part has.
    """

    part: str
    of_context: Index
    prior: Array
    modes: Index
    leaves: tuple[int, ...]
    opened: Array
    looks: tuple[tuple[int, Index], ...]
    effective: Index
    fixed: Index
    mixed_key: Index
    tables: int

    @cached_property
    def chosen(self) -> Array:
        """Whether a table holds, (keys, leaf states, tables)."""
        return np.asarray(self.modes[:, :, None] == np.arange(self.tables), dtype=np.float64)

    def by_key(self, contexts: Array) -> Array:
        """Add the mass of *contexts*, (n, contexts), up by key, (n, keys)."""
        return contexts @ self._spread

    @cached_property
    def _spread(self) -> Array:
        return np.eye(len(self.prior))[self.of_context]


@dataclass(frozen=True)
class DonorRow:
    """A row in which members of one set came from one other instrument."""

    row: int
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Contexts:
    """Contexts of one assembly for one pattern.

    Attributes
    ----------
    prior
        P(context | class), (contexts, classes).
    looks
        Inner openings that were looked at, as positions, with the row of the look, (contexts,).
    mixed
        Sets with a look at whether they are mixed, and in which contexts they are swapped.
    keys
        Parts, and openings without a part, that anything was seen on; dated ones first.
    row
        Row of each context, (contexts,).
    gather
        P(context | class) in the column of its class and row, (contexts, classes x rows).
    part_rows
        Mixture of each dated part in each row, (rows,).
    donors, swapped
        Rows in which several dated parts came from one other instrument; and for each dated part
        the rows in which it was swapped whole, with the timing class.
    told, columns
        What a context says of openings, swaps and hands, (contexts, columns), and where that goes
        among the columns of a posterior.
    silent
        Parts, and openings without a part, that nothing was seen on.
    hands
        Accesses whose careful hand is not gone through, with the one opening that tells of it.
    """

    prior: Array
    looks: tuple[tuple[int, Index], ...]
    mixed: tuple[tuple[int, Array], ...]
    keys: tuple[PartKeys, ...]
    row: Index
    rows: int
    gather: Array
    part_rows: tuple[Index, ...]
    donors: tuple[DonorRow, ...]
    swapped: dict[str, dict[int, Timing]]
    told: Array
    columns: Index
    silent: tuple[PartKeys, ...]
    hands: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Columns:
    """Where everything stands in the one array of a posterior that all marginals share."""

    openings: dict[str, int]
    sets: int
    accesses: dict[str, int]
    states: dict[str, int]
    width: int

    @classmethod
    def of(cls, model: DatingModel) -> Columns:
        """Lay the columns of *model* out: openings, sets, accesses, states."""
        openings = {one.name: i for i, one in enumerate(model.every_opening)}
        sets = len(openings)
        begin = sets + len(model.sets)
        accesses = {name: begin + i for i, name in enumerate(model.accesses)}
        begin += len(accesses)
        states = {}
        for part in model.parts:
            states[part.name] = begin
            begin += len(part.states)
        return cls(openings, sets, accesses, states, begin)


def swapped_states(model: DatingModel, part: str) -> tuple[str, ...]:
    """The states that a part may have when its set is swapped whole."""
    found = [state for one in model.sets if part in one.parts for state in one.source]
    return tuple(dict.fromkeys(found))


def modes_of(model: DatingModel, part: str) -> Array:
    """The tables of a part: unreached, its levels, swapped whole; (tables, states)."""
    one = model.part(part)
    swapped = swapped_states(model, part)
    rows = [
        one.undisturbed,
        *(level.p for level in model.levels_of(one)),
        *(tuple(float(name == state) for name in one.states) for state in swapped),
    ]
    return np.array(rows)


@dataclass(frozen=True)
class Told:
    """What the contexts of one assembly say of all that nothing was seen on.

    Attributes
    ----------
    table, columns
        As a context says it, (contexts, columns), and where that goes among the columns of a
        posterior.
    by_class
        The same by class when nothing was seen, (classes, columns).
    """

    table: Array
    columns: Index
    by_class: Array

    @classmethod
    def of(cls, found: Contexts, model: DatingModel, at: Columns) -> Told:
        """Put the tables of parts beside what contexts say by themselves."""
        tables, columns = [found.told], [found.columns]
        for keys in found.silent:
            tables.append((keys.prior @ keys.opened)[keys.of_context])
            columns.append(np.array(keys.leaves, dtype=np.intp))
            if keys.part:
                table = modes_of(model, keys.part)
                by_key = np.einsum("kj,kjs->ks", keys.prior, table[keys.modes])
                tables.append(by_key[keys.of_context])
                begin = at.states[keys.part]
                columns.append(np.arange(begin, begin + table.shape[1]))
        table = np.concatenate(tables, axis=1)
        return cls(table, np.concatenate(columns), found.prior.T @ table)
