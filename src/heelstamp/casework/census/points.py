"""Instruments of the census beside a change-over, each dated without the feature it shows.

The range is that of everything else that was seen: drawn so, an instrument speaks for the curve and
does not merely repeat it. An instrument whose serial number shows the variant is dated without its
number too (``dating.teaching``). Rows dated by their features only are given as well, marked as
teaching nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.casework.census.evidence_text import EvidenceReader
from heelstamp.casework.census.rows import CensusRow
from heelstamp.chronology import Chronology, dating_model, feature_on
from heelstamp.chronology.change_view import CensusPoint
from heelstamp.chronology.records import FeatureRow
from heelstamp.dating import CompiledModel, Evidence
from heelstamp.dating.teaching import FeatureGroup, dated_without
from heelstamp.units import Period

ENDS = (0.05, 0.5, 0.95)
"""Ends of the 90 % range, and its middle."""


class CensusDates:
    """A census made ready to be dated without one feature after the other.

    Parameters
    ----------
    rows
        Read by *chronology*.
    """

    def __init__(self, rows: Sequence[CensusRow], chronology: Chronology) -> None:
        reader = EvidenceReader(chronology)
        self._rows, self._chronology = rows, chronology
        self._evidence = [reader.read(row.evidence)[0] for row in rows]
        self._compiled = CompiledModel(dating_model(chronology))

    def points(self, feature: str) -> tuple[CensusPoint, ...]:
        """Date each row that shows *feature* without it; none where there is no such feature.

        A row that shows it on several parts alike stands once.
        """
        row = next((one for one in self._chronology.features if one.id == feature), None)
        if row is None:
            return ()
        return _points(self._compiled, row, self._rows, self._evidence)


def census_points(
    rows: Sequence[CensusRow], chronology: Chronology, features: Sequence[str]
) -> dict[str, tuple[CensusPoint, ...]]:
    """Return the points of several features by id; see `CensusDates`."""
    dates = CensusDates(rows, chronology)
    known = {row.id for row in chronology.features}
    return {id_: dates.points(id_) for id_ in features if id_ in known}


def _points(
    compiled: CompiledModel,
    feature: FeatureRow,
    rows: Sequence[CensusRow],
    evidence: Sequence[Evidence],
) -> tuple[CensusPoint, ...]:
    names = tuple(feature_on(feature, part) for part in feature.parts)
    group = FeatureGroup(names, read_from_serial=feature.from_serial is not None)
    teaching = dated_without(compiled, evidence, group)
    if not teaching.count:
        return ()
    reached = np.cumsum(teaching.months, axis=1)
    first, median, last = (
        (compiled.model.completion.first + (reached >= end - 1e-12).argmax(axis=1)).tolist()
        for end in ENDS
    )
    variants = next(one for one in compiled.model.features if one.name == names[0]).variants
    found: dict[tuple[int, int], CensusPoint] = {}
    for look, (place, variant) in enumerate(
        zip(teaching.instruments.tolist(), teaching.variants.tolist(), strict=True)
    ):
        row = rows[place]
        found.setdefault(
            (place, variant),
            CensusPoint(
                row.id,
                Period(first[look], last[look]),
                median[look],
                variants[variant],
                row.teaches,
            ),
        )
    return tuple(found.values())
