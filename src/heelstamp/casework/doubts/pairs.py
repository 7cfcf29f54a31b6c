"""Neighbouring parts of one dossier whose marks lie apart, with every account of them."""

from __future__ import annotations

from heelstamp.casework.dating.procedure import spread
from heelstamp.casework.doubts.finding import PairAccount, PairFinding
from heelstamp.dating import CompiledModel, Evidence
from heelstamp.dating.paired_states import neighbours_apart, paired_states

MOST = 3
"""Pairs that are told; the widest apart first."""


def pairs_apart(compiled: CompiledModel, evidence: Evidence) -> list[PairFinding]:
    """Find the neighbours that disagree in age, and weigh what may have become of both."""
    found = []
    for pair in neighbours_apart(compiled, evidence)[:MOST]:
        accounts = [
            PairAccount(
                older_built=one.built[0],
                younger_built=one.built[1],
                probability=one.probability,
                interval=spread(one.months, compiled.model.completion).interval,
            )
            for one in paired_states(compiled, evidence, pair)
        ]
        found.append(
            PairFinding(
                older=pair.older, younger=pair.younger, months=pair.months, accounts=accounts
            )
        )
    return found
