"""A row of the census: one instrument with how it was dated, what was seen, what was concluded.

Observations are kept as they were entered. Beside them stands their translation for the dating
engine (``evidence_text``), which serves as long as a chronology's ways of reading do not change;
``read_as`` is the digest of those. Rows dated by their features only are kept and dated again like
all others, and never teach: what would be learned from them was put into them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, get_args

import msgspec

from heelstamp.archive import digest_of
from heelstamp.casework.census.evidence_text import evidence_text
from heelstamp.casework.dating.own_acts import late_looks
from heelstamp.casework.dating.translated import Translated
from heelstamp.casework.dating.translation import translate
from heelstamp.catalogue import DossierState, Observation, body_data
from heelstamp.chronology import Chronology
from heelstamp.dating import Document, Mark
from heelstamp.errors import ConflictError, InputError
from heelstamp.marks import MarkContext

HowDated = Literal["marks", "documents", "marks and documents", "feature only"]
HOW_DATED: tuple[str, ...] = get_args(HowDated)
FEATURE_ONLY = "feature only"

LEFT = frozenset({"with the buyer", "back with the owner", "not received"})
"""Custody of a dossier that is closed, or never was the shop's to close."""


class Conclusion(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What was concluded of an instrument.

    Attributes
    ----------
    median, interval
        Months, and central ranges by level; of a withheld date nothing.
    verdicts
        Word and verdict of each part that was examined, as papers print them.
    withheld
        No completion date is given.
    edition, digest
        Edition of the chronology and its digest.
    """

    median: str | None
    interval: dict[str, tuple[str, str]]
    verdicts: dict[str, str]
    withheld: bool = False
    edition: str = ""
    digest: str = ""


class CensusRow(msgspec.Struct, frozen=True, kw_only=True):
    """One instrument; see the module head."""

    id: str
    chronology: str
    how_dated: HowDated
    observations: list[dict[str, Any]]
    evidence: str
    read_as: str
    conclusion: Conclusion | None = None

    @property
    def teaches(self) -> bool:
        """Whether change-overs may be learned from it."""
        return self.how_dated != FEATURE_ONLY


def make_row(
    id_: str,
    how_dated: str,
    observations: Sequence[Observation],
    chronology: Chronology,
    context: MarkContext,
) -> CensusRow:
    """Make a row of what was seen, without a conclusion yet.

    Raises
    ------
    InputError
        An observation contradicts the chronology or another one, or *how_dated* is no such way.
    """
    if how_dated not in HOW_DATED:
        raise InputError(
            "no such way of dating",
            where="how dated",
            received=how_dated,
            remedy="Use one of: " + ", ".join(HOW_DATED) + ".",
        )
    found = translate(list(observations), chronology, context)
    return CensusRow(
        id=id_,
        chronology=chronology.id,
        how_dated=how_dated,  # type: ignore[arg-type]
        observations=[body_data(one) for one in observations],
        evidence=evidence_text(found, chronology),
        read_as=reading_digest(chronology),
    )


def row_from_dossier(
    state: DossierState,
    chronology: Chronology,
    context: MarkContext,
    *,
    tag: str,
    while_open: bool = False,
) -> CensusRow:
    """Make a row of a dossier; how it was dated follows from what was used.

    Raises
    ------
    ConflictError
        The instrument is still in the shop's hands, and *while_open* is not set.
    """
    if not while_open and state.custody_state not in LEFT:
        raise ConflictError(
            "this dossier is not closed",
            where=tag,
            received=f"the instrument is {state.custody_state}",
            remedy="Add it when the instrument has left, or while it is here with --open.",
        )
    late = late_looks(state, chronology)  # traces of the shop's own acts teach nothing
    observations = [one for id_, one in state.observations.items() if id_ not in late]
    found = translate(observations, chronology, context)
    return make_row(tag, how_dated_by(found), observations, chronology, context)


def how_dated_by(found: Sequence[Translated]) -> HowDated:
    """Tell how an instrument was dated from the evidence that was used.

    A serial number is read by a curve that is itself learned, so that it counts as a feature; so
    does a mark that was looked for and absent.
    """
    kinds = {type(item) for one in found for item in one.evidence}
    if {Mark, Document} <= kinds:
        return "marks and documents"
    if Mark in kinds:
        return "marks"
    return "documents" if Document in kinds else "feature only"


def reading_digest(chronology: Chronology) -> str:
    """Return the digest of everything in a chronology that turns observations into evidence.

    Change-overs, the serial curve, lags and tables of probability are not among it.
    """
    plain = msgspec.to_builtins(
        {
            "parts": [(row.key, row.form) for row in chronology.parts],
            "assemblies": [(row.name, row.parts) for row in chronology.assemblies],
            "sets": [(row.name, row.parts) for row in chronology.sets],
            "screws": chronology.screws,
            "places": chronology.places,
            "features": [
                (
                    row.id,
                    row.parts,
                    row.variants,
                    row.also,
                    row.from_mark,
                    row.from_serial,
                    row.from_source_code,
                    row.when_absent,
                    row.one_lot,
                    row.set_part,
                )
                for row in chronology.features
            ],
            "signs": [
                (
                    row.id,
                    row.parts,
                    row.assembly,
                    row.openings,
                    bool(row.count),
                    row.outcomes,
                    row.covered_area,
                )
                for row in chronology.signs
            ],
            "writings": list(chronology.writings),
            "source_codes": list(chronology.source_codes),
            "grid": chronology.grid,
            "has_serial": chronology.serial is not None,
        }
    )
    return digest_of(plain)


def with_present_reading(
    row: CensusRow, chronology: Chronology, context: MarkContext, present: str
) -> CensusRow:
    """Return the row read by *chronology*, whose reading digest is *present*."""
    if row.read_as == present:
        return row
    seen = [msgspec.convert(one, Observation) for one in row.observations]
    again = make_row(row.id, row.how_dated, seen, chronology, context)
    return msgspec.structs.replace(again, conclusion=row.conclusion)
