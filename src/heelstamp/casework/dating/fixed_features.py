"""Which features of a chronology count as impossible to put in afterwards, and when they speak.

``retrofit = "no"`` cannot be done at all; ``"refinish only"`` takes a new finish, and counts beside
one that cannot be done. One such feature against the date is a misread look or a chronology that
does not know its maker well; two or more are a reason to give no date.
"""

from __future__ import annotations

from heelstamp.chronology import Chronology, feature_on
from heelstamp.dating import CompiledModel, Evidence, Posterior
from heelstamp.dating.fixed_features import features_at_odds

LEAST = 2
"""Features at odds with the date from which on none is given (our choice)."""


def fixed_at_odds(
    compiled: CompiledModel, evidence: Evidence, posterior: Posterior, chronology: Chronology
) -> tuple[str, ...]:
    """Names of the features that keep a date from being given; empty where none do."""
    rows = {
        feature_on(row, part): row
        for row in chronology.features
        if row.retrofit in ("no", "refinish only")
        for part in row.parts
    }
    found = [rows[name] for name in features_at_odds(compiled, evidence, posterior, set(rows))]
    unique = list({row.id: row for row in found}.values())
    if len(unique) < LEAST or all(row.retrofit != "no" for row in unique):
        return ()
    return tuple(row.name for row in unique)
