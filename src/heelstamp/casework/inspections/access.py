"""The way to each opening of an instrument: acts still to be done, minutes, invasiveness, consent.

An opening is open from the treatment with its act until a treatment with an act that closes it
again; one without an act is always open. It was opened before if its act was ever recorded, or if
something behind it was seen; only what was never opened is a *first* opening. Whether the shop
opened it without an entry cannot be known.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology import Chronology
from heelstamp.chronology.records import AccessRow
from heelstamp.errors import InputError


@dataclass(frozen=True)
class Way:
    """What it takes to look through one opening.

    Attributes
    ----------
    opening, label
        Key and name of the opening.
    acts
        Acts still to be done, in their order.
    need_consent
        Those of them that need the owner's consent.
    minutes, invasiveness
        Of those acts together: the sum, and the highest level.
    first
        Names of openings that were never opened before.
    cautions
        Ids of the cautions that belong to the acts.
    """

    opening: str
    label: str
    acts: tuple[str, ...]
    need_consent: tuple[str, ...]
    minutes: float
    invasiveness: int
    first: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        """Whether nothing is left to be done."""
        return not self.acts


def ways(
    state: DossierState, tree: PartsTree, chronology: Chronology, seen_behind: Collection[str]
) -> dict[str, Way]:
    """The way to each opening that the chronology has an access row for.

    Parameters
    ----------
    seen_behind
        Openings behind which something was seen.

    Raises
    ------
    InputError
        The parts tree has no such opening.
    """
    known = [one.key for one in tree.openings]
    for row in chronology.accesses:
        if row.opening not in known:
            raise InputError(
                f"a {tree.label} has no such opening",
                where=f"chronology {chronology.id}, access",
                received=row.opening,
                remedy=nearest(row.opening, known),
            )
    return {
        row.opening: _way(row, state, tree, chronology, seen_behind) for row in chronology.accesses
    }


def _way(
    row: AccessRow,
    state: DossierState,
    tree: PartsTree,
    chronology: Chronology,
    seen_behind: Collection[str],
) -> Way:
    steps = _steps(row, chronology)
    shut = [one for one in steps if not _is_open(one, state, tree)]
    openings = [tree.opening(one.opening) for one in shut]
    done = {treatment.act for treatment in state.treatments.values()}
    return Way(
        row.opening,
        tree.opening(row.opening).label,
        tuple(one.act for one in openings),
        tuple(one.act for one in openings if one.consent),
        sum(one.minutes for one in shut),
        max((one.invasiveness for one in shut), default=0),
        tuple(one.label for one in openings if one.act not in done and one.key not in seen_behind),
        tuple(dict.fromkeys(caution for one in shut for caution in one.caution)),
    )


def _steps(row: AccessRow, chronology: Chronology) -> list[AccessRow]:
    """An opening with all that come first, in the order in which they are opened."""
    by_key = {one.opening: one for one in chronology.accesses}
    found: list[AccessRow] = []
    for before in row.after:
        found += [one for one in _steps(by_key[before], chronology) if one not in found]
    return [*found, row]


def _is_open(row: AccessRow, state: DossierState, tree: PartsTree) -> bool:
    act = tree.opening(row.opening).act
    if not act:
        return True
    is_open = False
    for treatment in state.treatments.values():
        if treatment.act == act:
            is_open = True
        elif treatment.act in row.closed_by:
            is_open = False
    return is_open
