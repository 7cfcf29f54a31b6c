"""One observation of a dossier with what the dating makes of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from heelstamp.casework.dating.mark_reading import ReadMark
from heelstamp.catalogue import Observation
from heelstamp.dating import Observation as Evidence


@dataclass
class Translated:
    """One observation with the evidence it gives.

    Attributes
    ----------
    evidence
        Nothing, or one item and what follows from it.
    why_not
        Why it gives none.
    mark
        How a mark was read.
    of_set
        The set of parts that this observation's evidence went to.
    ratio
        P(look | touched) / P(look | anything else) of a place that differs under the lamp.
    """

    seen: Observation
    evidence: list[Evidence] = field(default_factory=list)
    why_not: str | None = None
    mark: ReadMark | None = None
    of_set: str | None = None
    ratio: float | None = None


def entry_named(id_: str) -> str:
    """Name an observation in a reason, so that a paper can find it and put its words there."""
    return f"“{id_}”"
