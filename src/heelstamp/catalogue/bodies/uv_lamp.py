"""What a person says beside a finding of the glow: marks on a pair, regions set aside, borders.

The finding itself is an observation of the finish with its kept file. All name the finding by its
digest, because another comparison numbers its regions anew.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.base import (
    EntryBody,
    FileDigest,
    FindingDigest,
    Id,
    NotNegative,
    Reasoned,
)
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError

RegionNumber = Annotated[int, msgspec.Meta(ge=1, le=10_000)]


class PairMarks(EntryBody, frozen=True):
    """What was drawn on a pair before it was compared: outline, parts, scale, greys, points.

    Attributes
    ----------
    visible, uv
        Ids of the two frames.
    file
        SHA-256 of the kept file of marks.
    """

    id: Id
    visible: Id
    uv: Id
    file: FileDigest
    note: str = ""


class RegionVerdict(Reasoned, frozen=True):
    """A region of a finding set aside, or standing as it was found.

    Attributes
    ----------
    look
        Id of the observation.
    finding
        Digest of its finding.
    """

    look: Id
    finding: FindingDigest
    region: RegionNumber
    verdict: Literal["set aside", "stands"]


class RegionBorder(EntryBody, frozen=True):
    """A border of a region drawn by hand; without a file the program's border stands again.

    Attributes
    ----------
    look, finding
        Id of the observation, and digest of its finding.
    file
        SHA-256 of the kept border.
    area_cm2, area_uncertainty_cm2
        Inside the border; None without a scale.
    reason
        In the words of who drew it.
    """

    id: Id
    look: Id
    finding: FindingDigest
    region: RegionNumber
    file: FileDigest | None = None
    area_cm2: NotNegative | None = None
    area_uncertainty_cm2: NotNegative | None = None
    reason: str = ""


def check_border(body: RegionBorder, where: str) -> None:
    """Refuse an area without a border."""
    if body.file is None and body.area_cm2 is not None:
        raise InputError(
            "an area without a border",
            where=join_place(where, "field area_cm2"),
            received=body.area_cm2,
            remedy="Give the border's file, or take the area out.",
        )
