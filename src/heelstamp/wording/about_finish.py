"""Sentences about a visible / UV-A pair: what differs, how large, what may have caused it.

The only words for a glow are those of rule 6: even, differs here, visible or not visible in
ordinary light, not assessable because of something. Causes come with their support; the finding is
that the glow differs. Shares are those of simulated pairs, and every sentence that prints one says
so. Nothing here judges whether a region is real.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.wording.sentences import Grounds, Statement, listed, write
from heelstamp.wording.strength import percent

KINDS = {
    "darker": "darker",
    "brighter": "brighter",
    "other hue": "other hue",
    "gradual": "fading in without a border",
}
LEAST_SUPPORT = 0.05
"""Causes with less are counted as others."""


def even(statement_id: str, *, zone: str, grounds: Grounds) -> Statement:
    """Tell that nothing differed, and that this shows little."""
    return write("glow even", statement_id, grounds, zone=zone)


def differs(
    statement_id: str, *, number: int, place: str, kind: str, visible: bool, grounds: Grounds
) -> Statement:
    """Tell that the glow differs in a region, and whether the eye sees it."""
    return write(
        "glow differs",
        statement_id,
        grounds,
        number=str(number),
        place=place,
        kind=KINDS[kind],
        seen="visible" if visible else "not visible",
    )


def face_differs(
    statement_id: str,
    *,
    face: str,
    visible: int,
    hidden: int,
    together_cm2: float | None,
    assessed_cm2: float | None,
    grounds: Grounds,
) -> Statement:
    """Tell in one sentence that the glow of a face differs, in how many places and how large.

    Parameters
    ----------
    visible, hidden
        Places that the eye sees in ordinary light, and those that it does not.
    together_cm2, assessed_cm2
        Area of all places and of what was assessed; None without a scale.
    """
    count = visible + hidden
    extent = ""
    if together_cm2 is not None and assessed_cm2 is not None:
        extent = f", together {together_cm2:.2f} cm² of {assessed_cm2:.0f} cm² assessed"
    if not hidden:
        seen = "it is visible" if count == 1 else f"all {count} are visible"
    elif not visible:
        seen = "it is not visible" if count == 1 else "none of them is visible"
    else:
        seen = f"{visible} of them {'is' if visible == 1 else 'are'} visible"
    return write(
        "glow face differs",
        statement_id,
        grounds,
        face=face,
        count=f"{count} place{'' if count == 1 else 's'}",
        extent=extent,
        seen=seen,
    )


def simulated(statement_id: str, *, grounds: Grounds) -> Statement:
    """Tell that the pair is a made-up one."""
    return write("glow simulated", statement_id, grounds)


def set_aside(
    statement_id: str, *, number: int, by: str, reason: str, grounds: Grounds
) -> Statement:
    """Tell that a person set a region aside, and why; the finding stays."""
    return write(
        "glow set aside",
        statement_id,
        grounds,
        number=str(number),
        by=by,
        reason=reason.rstrip(". "),
    )


def border_by_hand(
    statement_id: str, *, number: int, by: str, reason: str, grounds: Grounds
) -> Statement:
    """Tell that a person drew a region's border, and what was said of it."""
    return write(
        "glow border by hand",
        statement_id,
        grounds,
        number=str(number),
        by=by,
        reason=reason.rstrip(". "),
    )


def measured(
    statement_id: str,
    *,
    number: int,
    area_cm2: float | None,
    uncertainty_cm2: float | None,
    ratio: float,
    grounds: Grounds,
) -> Statement:
    """Tell area, when there is a scale, and glow against the coat around."""
    area = "" if area_cm2 is None else f", over {area_told(area_cm2, uncertainty_cm2)}"
    return write(
        "glow measured", statement_id, grounds, number=str(number), area=area, ratio=f"{ratio:.2f}"
    )


def area_told(area_cm2: float, uncertainty_cm2: float | None) -> str:
    """Write an area and its standard uncertainty in cm².

    Examples
    --------
    >>> area_told(2.041, 0.11)
    '2.04 ± 0.11 cm²'
    """
    doubt = "" if uncertainty_cm2 is None else f" ± {uncertainty_cm2:.2f}"
    return f"{area_cm2:.2f}{doubt} cm²"


def sure(statement_id: str, *, number: int, share: float, grounds: Grounds) -> Statement:
    """Tell the calibrated confidence, as the share on simulated pairs that it is."""
    return write("glow sure", statement_id, grounds, number=str(number), share=percent(share))


def causes_told(causes: Mapping[str, float]) -> str:
    """Write causes with their support, strongest first.

    Examples
    --------
    >>> causes_told({"surface film": 0.13, "touch-up": 0.85, "wear-through": 0.02})
    'touch-up 0.85, surface film 0.13 and others 0.02'
    """
    ordered = sorted(causes.items(), key=lambda item: (-item[1], item[0]))
    told = [f"{cause} {share:.2f}" for cause, share in ordered if share >= LEAST_SUPPORT]
    rest = sum(share for _, share in ordered if share < LEAST_SUPPORT)
    if round(rest, 2) > 0:
        told.append(f"others {rest:.2f}")
    return listed(told)


def possible_causes(
    statement_id: str, *, number: int, causes: Mapping[str, float], deciding: str, grounds: Grounds
) -> Statement:
    """Tell possible causes with their support, and what would tell them apart."""
    return write(
        "glow causes",
        statement_id,
        grounds,
        number=str(number),
        causes=causes_told(causes),
        deciding=deciding,
    )


def bound(statement_id: str, *, smallest_mm: float, grounds: Grounds) -> Statement:
    """Tell what was too small or lay outside."""
    return write("glow bound", statement_id, grounds, smallest=f"{smallest_mm:.0f}")


def not_assessable(
    statement_id: str, *, code: str, found: str, remedy: str, grounds: Grounds
) -> Statement:
    """Tell why a pair is refused, and what to do."""
    return write(
        "glow not assessable", statement_id, grounds, code=code, found=found, remedy=remedy
    )


def weakened(
    statement_id: str, *, code: str, found: str, remedy: str, grounds: Grounds
) -> Statement:
    """Tell what makes the answer weaker without refusing it."""
    return write("glow weakened", statement_id, grounds, code=code, found=found, remedy=remedy)


def cannot_tell(statement_id: str, *, grounds: Grounds) -> Statement:
    """Tell what no glow decides."""
    return write("glow cannot tell", statement_id, grounds)
