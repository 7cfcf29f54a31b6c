"""Tables of a census for other shops, as far as the limits allow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from heelstamp.archive import sha256
from heelstamp.casework.census.evidence_text import EvidenceReader
from heelstamp.casework.census.rows import CensusRow
from heelstamp.casework.federation.ground import Ground
from heelstamp.casework.federation.limits import LEAST, Given, blur_for, smallest_group
from heelstamp.casework.federation.summary import (
    SCHEMA,
    CensusTables,
    FeatureTable,
    Gathered,
    band_of,
    written_steps,
)
from heelstamp.dating import Evidence, FeatureSeen
from heelstamp.dating.federation.tables import LookTable, in_steps, tabulated
from heelstamp.errors import ConflictError

Pair = tuple[str, str]


@dataclass(frozen=True)
class Made:
    """Tables ready to be signed, and what the shop keeps of them.

    Attributes
    ----------
    withheld
        Features without a table, and the number of instruments for which that is too few.
    """

    tables: CensusTables
    given: Given
    withheld: Mapping[str, int]


@dataclass(frozen=True)
class Teachers:
    """Instruments of a census that teach, read by one ground."""

    rows: Sequence[CensusRow]
    evidence: Sequence[Evidence]

    @classmethod
    def of(cls, rows: Sequence[CensusRow], ground: Ground) -> Teachers:
        """Those of *rows* that teach."""
        teachers = [row for row in rows if row.teaches]
        reader = EvidenceReader(ground.chronology)
        return cls(teachers, [reader.read(row.evidence)[0] for row in teachers])

    def looked_at(self, ground: Ground) -> dict[str, list[Pair]]:
        """Ids and digests of evidence of the instruments that speak of each exchanged feature."""
        speaking = {
            (name, variant): id_
            for id_, group in ground.groups.items()
            for name in group.names
            for variant in ground.features[id_].variants[:2]
        }
        found: dict[str, list[Pair]] = {id_: [] for id_ in ground.groups}
        for row, seen in zip(self.rows, self.evidence, strict=True):
            spoken = {
                speaking.get((one.feature, one.variant))
                for one in seen
                if isinstance(one, FeatureSeen)
            }
            for id_ in spoken - {None}:
                assert id_ is not None
                found[id_].append((row.id, sha256(row.evidence.encode())))
        return found

    def tables(
        self, ground: Ground, blurred: Mapping[str, float] | None = None
    ) -> dict[str, LookTable]:
        """Tables by feature, dates blurred by so many months."""
        by_group = {ground.groups[id_]: sd for id_, sd in (blurred or {}).items()}
        found = tabulated(
            ground.model,
            self.evidence,
            tuple(ground.groups.values()),
            ground.span,
            blurred=by_group,
        )
        return {id_: found[group] for id_, group in ground.groups.items() if group in found}

    def dated_by(self) -> list[Literal["marks", "documents"]]:
        """By what they were dated."""
        told: list[Literal["marks", "documents"]] = ["marks", "documents"]
        return [one for one in told if any(one in row.how_dated for row in self.rows)]


def make_tables(
    ground: Ground,
    rows: Sequence[CensusRow],
    earlier: Sequence[Given],
    *,
    gathered: Gathered,
    day: str,
    program: str,
) -> Made:
    """Make the tables that a shop may hand out now.

    Parameters
    ----------
    rows
        The whole census of the maker, read by the present edition.
    earlier
        All that was handed out of this maker before, in any order.

    Raises
    ------
    ConflictError
        No feature has enough instruments, alone or beside what was handed out before.
    """
    teachers = Teachers.of(rows, ground)
    looked, blurred, withheld = teachers.looked_at(ground), {}, {}
    for id_, pairs in looked.items():
        group = smallest_group(pairs, [one.instruments.get(id_, []) for one in earlier])
        sd = blur_for(group)
        if sd is None:
            withheld[id_] = group
        else:
            blurred[id_] = sd
    if not blurred:
        raise ConflictError(
            f"no feature was looked at on {LEAST} instruments more than was told before",
            where=ground.chronology.id,
            received=f"at most {max(withheld.values(), default=0)}",
            remedy="Wait until more came in, or join a sum of several shops: heelstamp federation "
            "mask.",
        )
    last = max((one for one in earlier if one.kind == "tables"), key=_number, default=None)
    found = teachers.tables(ground, blurred)
    tables = CensusTables(
        schema=SCHEMA,
        chronology=ground.chronology.id,
        ground=ground.digest,
        round=1,
        program=program,
        number=1 if last is None else last.number + 1,
        before="" if last is None else last.digest,
        day=day,
        gathered=gathered,
        dated_by=teachers.dated_by(),
        tables=[
            _table(id_, found[id_], len(looked[id_]), blurred=sd > 0) for id_, sd in blurred.items()
        ],
    )
    given = Given(
        number=tables.number,
        kind="tables",
        digest=tables.digest,
        instruments={id_: looked[id_] for id_ in blurred},
    )
    return Made(tables, given, withheld)


def _number(one: Given) -> int:
    return one.number


def _table(id_: str, table: LookTable, instruments: int, *, blurred: bool) -> FeatureTable:
    old, new = (int(np.sum(table.variants == variant)) for variant in (0, 1))
    return FeatureTable(
        feature=id_,
        instruments=band_of(instruments),
        looks=band_of(len(table.variants)),
        variants=(band_of(old), band_of(new)),
        blurred=blurred,
        steps=written_steps(in_steps(table.log)),
    )
