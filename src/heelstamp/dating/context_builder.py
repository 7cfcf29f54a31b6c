"""Works the contexts of one assembly out, for a pattern of what was looked at (``contexts``)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np

from heelstamp.dating.contexts import Columns, Contexts, DonorRow, PartKeys, Pattern, swapped_states
from heelstamp.dating.model import Array, DatingModel, Index, Part, Timing
from heelstamp.dating.structure import Combination, Cut, Structure, Swap, level_of


class ContextBuilder:
    """Works the contexts of one assembly out."""

    def __init__(
        self, model: DatingModel, whole: Structure, cut: Cut, columns: Columns, pattern: Pattern
    ) -> None:
        self.model, self.whole, self.cut, self.at = model, whole, cut, columns
        self.pattern = pattern
        self.openings = {one.name: one for one in model.every_opening}
        inside = [*cut.inner, *(name for ones in cut.leaves.values() for name in ones)]
        self.accesses: dict[str, list[str]] = {}
        for name in inside:
            self.accesses.setdefault(self.openings[name].access, []).append(name)
        seen = {a: [o for o in ones if o in pattern.looks] for a, ones in self.accesses.items()}
        share = {access: model.careful_share(access) for access in seen}
        self.hands = [a for a, ones in seen.items() if len(ones) > 1 and 0 < share[a] < 1]
        self.single = {a: ones[0] for a, ones in seen.items() if len(ones) == 1}
        self.sure = {a for a in seen if share[a] == 1}
        self.share = share
        self.contexts = [
            (one, frozenset(h for h, flag in zip(self.hands, flags, strict=True) if flag))
            for one in cut.combinations
            for flags in product((False, True), repeat=len(self.hands))
        ]

    def build(self) -> Contexts:
        """The contexts."""
        cut, pattern = self.cut, self.pattern
        prior = np.array([self._prior(one, careful) for one, careful in self.contexts])
        looks = tuple(
            (
                self.at.openings[name],
                np.array([self._row(name, c.opened, f) for c, f in self.contexts]),
            )
            for name in cut.inner
            if name in pattern.looks
        )
        mixed = tuple(
            (
                place,
                np.array([float(any(s.place == place for s in c.swaps)) for c, _ in self.contexts]),
            )
            for place in cut.sets
            if place in pattern.mixed
        )
        names = [*cut.parts, *([""] if "" in cut.leaves else [])]
        every = {name: self._keys(name) for name in names}
        dated = [name for name in pattern.dated if name in every]
        telling = [
            name
            for name in names
            if name not in dated and (name in pattern.signed or every[name].looks)
        ]
        keys = tuple(every[name] for name in [*dated, *telling])
        row, part_rows, donors, swapped = self._rows([every[name] for name in dated])
        rows = int(row.max()) + 1
        classes = prior.shape[1]
        gather = np.zeros((len(prior), classes, rows))
        gather[np.arange(len(prior)), :, row] = prior
        told, columns = self._told()
        silent = tuple(every[name] for name in names if name not in [*dated, *telling])
        hands = tuple(
            (self.at.accesses[access], self.at.openings[name])
            for access, name in self.single.items()
        )
        return Contexts(
            prior,
            looks,
            mixed,
            keys,
            row,
            rows,
            gather.reshape(len(prior), -1),
            part_rows,
            donors,
            swapped,
            told,
            columns,
            silent,
            hands,
        )

    def _prior(self, one: Combination, careful: frozenset[str]) -> Array:
        prior = one.prior
        classes = self.cut.classes
        # where classes are told apart less finely, those merged have equal numbers
        prior = prior[:classes]
        for access in self.hands:
            share = self.share[access]
            prior = prior * (share if access in careful else 1 - share)
        return prior

    def _row(self, name: str, opened: frozenset[str], careful: frozenset[str]) -> int:
        """The row of a look: closed, opened, opened carefully, or opened by any hand (3)."""
        if name not in opened:
            return 0
        access = self.openings[name].access
        if access in self.hands:
            return 1 + (access in careful)
        return 2 if access in self.sure else 3

    def _keys(self, part: str) -> PartKeys:
        model = self.model
        leaves = self.cut.leaves.get(part, ())
        found = model.part(part) if part else None
        swaps = swapped_states(model, part) if part else ()
        levels = 1 + len(model.levels_of(found)) if found else 1
        sets = {i for i, one in enumerate(model.sets) if part in one.parts}
        assignments = list(product((False, True), repeat=len(leaves)))
        seen = [name for name in leaves if name in self.pattern.looks]
        places: dict[tuple[object, ...], int] = {}
        priors, modes, rows = [], [], []
        of_context = []
        heard, told = self._heard(found, leaves), {self.openings[name].access for name in seen}
        met: dict[tuple[frozenset[str], str, frozenset[str]], int] = {}
        before: Combination | None = None
        swap, here = "", frozenset[str]()
        for combination, careful in self.contexts:
            if combination is not before:  # careful hands change the looks only
                before, here = combination, combination.opened & heard
                swap = next((s.state for s in combination.swaps if s.place in sets), "")
            alike = (here, swap, careful & told)
            if alike not in met:
                p, mode, look = [], [], []
                for flags in assignments:
                    opened = here.union(
                        name for name, flag in zip(leaves, flags, strict=True) if flag
                    )
                    share = 1.0
                    for name, flag in zip(leaves, flags, strict=True):
                        one = self.openings[name].probability(opened, 0)
                        share *= one if flag else 1 - one
                    p.append(share)
                    look.append(tuple(self._row(name, opened, careful) for name in seen))
                    if found is None:
                        mode.append(0)
                    elif swap:
                        mode.append(levels + swaps.index(swap))
                    else:
                        mode.append(level_of(model, found, opened))
                key = (tuple(p), tuple(mode), tuple(look))
                if key not in places:
                    places[key] = len(places)
                    priors.append(p)
                    modes.append(mode)
                    rows.append(look)
                met[alike] = places[key]
            of_context.append(met[alike])
        table = np.array(modes, dtype=np.intp)
        effective, fixed, mixed_key = _mixtures(table)
        looked = np.array(rows, dtype=np.intp).reshape(*table.shape, len(seen))
        return PartKeys(
            part,
            np.array(of_context, dtype=np.intp),
            np.array(priors),
            table,
            tuple(self.at.openings[name] for name in leaves),
            np.array(assignments, dtype=float).reshape(len(assignments), len(leaves)),
            tuple((self.at.openings[name], looked[:, :, i]) for i, name in enumerate(seen)),
            effective,
            fixed,
            mixed_key,
            levels + len(swaps),
        )

    def _heard(self, part: Part | None, leaves: Sequence[str]) -> frozenset[str]:
        """The openings that matter to a part: on its paths, or that its leaves depend on."""
        levels = self.model.levels_of(part) if part else ()
        named = [name for level in levels for way in level.path for name in way]
        return frozenset([*named, *(p for leaf in leaves for p in self.openings[leaf].parents)])

    def _rows(
        self, dated: Sequence[PartKeys]
    ) -> tuple[Index, tuple[Index, ...], tuple[DonorRow, ...], dict[str, dict[int, Timing]]]:
        """Gather contexts that mean the same for all dated parts."""
        names = [keys.part for keys in dated]
        places: dict[tuple[object, ...], int] = {}
        row, examples = [], []
        for x, (combination, _) in enumerate(self.contexts):
            mixtures = tuple(int(keys.effective[keys.of_context[x]]) for keys in dated)
            donors = tuple(s for s in combination.swaps if self._from_donor(s, names))
            key = (mixtures, donors)
            if key not in places:
                places[key] = len(places)
                examples.append((x, mixtures, donors))
            row.append(places[key])
        part_rows = tuple(
            np.array([mixtures[i] for _, mixtures, _ in examples], dtype=np.intp)
            for i in range(len(dated))
        )
        joint, swapped = [], dict[str, dict[int, Timing]]()
        for place, (x, _, donors) in enumerate(examples):
            for swap in self.contexts[x][0].swaps:
                members = [n for n in names if n in self.model.sets[swap.place].parts]
                for name in members:
                    swapped.setdefault(name, {})[place] = self._timing(name, swap.state)
                if swap in donors:
                    joint.append(DonorRow(place, tuple(members)))
        return np.array(row, dtype=np.intp), part_rows, tuple(joint), swapped

    def _from_donor(self, swap: Swap, dated: Sequence[str]) -> bool:
        """Whether several dated parts then come from one other instrument."""
        members = [name for name in dated if name in self.model.sets[swap.place].parts]
        return len(members) > 1 and self._timing(members[0], swap.state) is Timing.DONOR

    def _timing(self, name: str, state: str) -> Timing:
        part = self.model.part(name)
        return part.timing[part.states.index(state)]

    def _told(self) -> tuple[Array, Index]:
        """Tabulate what contexts say by themselves: openings, swaps, hands."""
        tables: list[Array] = []
        columns: list[int] = []
        for name in self.cut.inner:
            tables.append(np.array([float(name in c.opened) for c, _ in self.contexts]))
            columns.append(self.at.openings[name])
        for place in self.cut.sets:
            swapped = [float(any(s.place == place for s in c.swaps)) for c, _ in self.contexts]
            tables.append(np.array(swapped))
            columns.append(self.at.sets + place)
        for access in self.hands:
            tables.append(np.array([float(access in careful) for _, careful in self.contexts]))
            columns.append(self.at.accesses[access])
        for access in self.accesses:
            if access not in self.hands and access not in self.single:
                tables.append(np.full(len(self.contexts), self.share[access]))
                columns.append(self.at.accesses[access])
        told = np.stack(tables, axis=1) if tables else np.zeros((len(self.contexts), 0))
        return told, np.array(columns, dtype=np.intp)


def _mixtures(modes: Index) -> tuple[Index, Index, Index]:
    """Let keys whose leaves change nothing share one mixture a table."""
    effective: list[int] = []
    fixed: list[int] = []
    example: list[int] = []
    places: dict[int, int] = {}
    for key, row in enumerate(modes.tolist()):
        only = row[0] if len(set(row)) == 1 else -1
        if only >= 0 and only in places:
            effective.append(places[only])
            continue
        if only >= 0:
            places[only] = len(fixed)
        effective.append(len(fixed))
        fixed.append(only)
        example.append(key)
    return np.array(effective), np.array(fixed), np.array(example)
