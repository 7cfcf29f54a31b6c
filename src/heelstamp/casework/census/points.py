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
from heelstamp.casework.chronology import Chronology, dating_model, feature_on
from heelstamp.casework.chronology.change_view import CensusPoint
from heelstamp.casework.chronology.records import FeatureRow
from heelstamp.dating import CompiledModel, Evidence
from heelstamp.dating.teaching import FeatureGroup, dated_without
from heelstamp.units import Period

ENDS = (0.05, 0.5, 0.95)
"""Ends of the 90 % range, and its middle."""


def census_points(
    rows: Sequence[CensusRow], chronology: Chronology, features: Sequence[str]
) -> dict[str, tuple[CensusPoint, ...]]:
    """Date each row without each of *features* that it shows.

    Parameters
    ----------
    rows
        Read by *chronology*.
    features
        Ids; those that the chronology has not are passed over.

    Returns
    -------
    dict of tuple of CensusPoint
        By id of the feature; a row that shows it on several parts alike stands once.
    """
    reader = EvidenceReader(chronology)
    evidence = [reader.read(row.evidence)[0] for row in rows]
    compiled = CompiledModel(dating_model(chronology))
    wanted = [row for row in chronology.features if row.id in features]
    return {row.id: _points(compiled, row, rows, evidence) for row in wanted}


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
                row.id, Period(first[look], last[look]), median[look], variants[variant],
                row.teaches,
            ),
        )  # fmt: skip
    return tuple(found.values())
