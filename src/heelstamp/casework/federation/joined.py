"""A new edition learned from this shop's census and the tables of others.

The shop's own instruments enter as they are; others' tables as they were sent. They are added in
the order of the keys that signed them: the same tables give the same bits whatever was joined
before, and a shop that is taken out leaves nothing. Where more than one shop in twenty does not
fit, every shop is given a shift of its own (`heelstamp.dating.federation.joining.shifted`).
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from heelstamp.casework.census.learn import NewEdition, changes_learned, write_learned
from heelstamp.casework.census.rows import CensusRow
from heelstamp.casework.federation.ground import Ground
from heelstamp.casework.federation.making import Teachers
from heelstamp.casework.federation.summary import CensusTables, least_of, steps_of
from heelstamp.chronology import parse_chronology
from heelstamp.dating.federation.joining import contaminated, shifted
from heelstamp.dating.federation.misfit import MANY, Misfit, misfits
from heelstamp.dating.federation.tables import in_nats, learned_from, prior_of
from heelstamp.dating.learning import LEAST_LOOKS, LearnedFeature
from heelstamp.dating.model import Array
from heelstamp.errors import ConflictError

Way = Literal["contaminated", "shifted"]


@dataclass(frozen=True)
class Contribution:
    """What one shop says.

    Attributes
    ----------
    key
        Fingerprint of its key.
    name
        What this shop calls it.
    tables
        Log likelihood by feature, (centres, widths), in nats.
    looks
        At least so many looks, by feature.
    gathered
        How its instruments came into its census; empty where that is not told.
    single
        Whether it is one shop: a sum of several under masks cannot be held against others.
    """

    key: str
    name: str
    tables: Mapping[str, Array]
    looks: Mapping[str, int]
    gathered: str = ""
    single: bool = True


@dataclass(frozen=True)
class Joined:
    """What several shops taught.

    Attributes
    ----------
    new
        The new edition.
    own
        Key of this shop.
    shops
        Who contributed, in the order in which they were added.
    fits
        How each stands against all others; None for a sum of several.
    way
        How tables were joined.
    """

    new: NewEdition
    own: str
    shops: tuple[Contribution, ...]
    fits: tuple[Misfit | None, ...]
    way: Way

    @property
    def others(self) -> int:
        """How many tables of others taught."""
        return sum(one.key != self.own for one in self.shops)

    @property
    def asked(self) -> tuple[Contribution, ...]:
        """Shops that do not fit the others and are asked about."""
        pairs = zip(self.shops, self.fits, strict=True)
        return tuple(shop for shop, fit in pairs if fit is not None and fit.is_asked)

    @property
    def selected(self) -> tuple[Contribution, ...]:
        """Shops that collected one variant rather than the other."""
        return tuple(one for one in self.shops if one.gathered == "one variant collected")


def own_contribution(
    key: str, name: str, rows: Sequence[CensusRow], ground: Ground
) -> Contribution:
    """What the shop's own census says, as it is."""
    found = Teachers.of(rows, ground).tables(ground)
    return Contribution(
        key,
        name,
        {id_: one.log for id_, one in found.items()},
        {id_: len(one.variants) for id_, one in found.items()},
    )


def contribution_of(key: str, name: str, tables: CensusTables) -> Contribution:
    """What another shop's tables say."""
    return Contribution(
        key,
        name,
        {one.feature: in_nats(steps_of(one)) for one in tables.tables},
        {one.feature: least_of(one.looks) for one in tables.tables},
        tables.gathered,
    )


def join(
    document: Mapping[str, Any],
    ground: Ground,
    contributions: Sequence[Contribution],
    *,
    own: str,
    edition: str,
    taught: int,
    silent: int,
) -> Joined:
    """Join what shops say into a new edition.

    Parameters
    ----------
    document
        The present edition as plain values; *ground* is its ground.
    own
        Key of this shop.
    taught, silent
        Instruments of the shop's own census that teach, and that never do.

    Raises
    ------
    ConflictError
        No other shop's tables are among the contributions.
    """
    shops = tuple(sorted((one for one in contributions if one.tables), key=lambda one: one.key))
    if all(one.key == own for one in shops):
        raise ConflictError(
            "no other shop's tables of this maker are here",
            where=ground.chronology.id,
            remedy="First take what a shop handed out whose key is known here.",
        )
    prior, step = prior_of(ground.grid), ground.grid.step
    single = [one for one in shops if one.single]
    stands = dict(
        zip(
            (one.key for one in single),
            misfits([one.tables for one in single], prior, step),
            strict=True,
        )
    )
    asked = sum(one.is_asked for one in stands.values())
    way: Way = "shifted" if single and asked > MANY * len(single) else "contaminated"
    looks = {id_: sum(one.looks.get(id_, 0) for one in shops) for id_ in ground.rows}
    learned_ids = [id_ for id_, count in looks.items() if count >= LEAST_LOOKS]
    tables = {id_: [one.tables[id_] for one in shops if id_ in one.tables] for id_ in learned_ids}
    if way == "shifted":
        posteriors = dict(
            zip(learned_ids, shifted(list(tables.values()), prior, step), strict=True)
        )
    else:
        posteriors = {id_: contaminated(some, prior) for id_, some in tables.items()}
    learned = {
        id_: LearnedFeature(ground.groups[id_], looks[id_], (learned_from(ground.grid, one),))
        for id_, one in posteriors.items()
    }
    present = parse_chronology(document, name="present edition")
    new = copy.deepcopy(dict(document))
    new["edition"] = edition
    for row in new.get("feature", []):
        if row["id"] in learned:
            write_learned(row, learned[row["id"]], f"census tables of {len(shops)} shops")
    made = NewEdition(
        document=new,
        chronology=parse_chronology(new, name=f"edition {edition}"),
        changes=changes_learned(present, learned),
        kept={id_: count for id_, count in looks.items() if count < LEAST_LOOKS},
        taught=taught,
        silent=silent,
        serials={},
    )
    return Joined(made, own, shops, tuple(stands.get(one.key) for one in shops), way)
