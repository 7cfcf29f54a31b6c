"""A visible / UV-A pair: what differs, how large, what may have caused it (rule 6).

The only words for a glow are those of rule 6: even, differs here, visible or not visible in
ordinary light, not assessable because of something. Causes are possible ones with their support;
the finding is that the glow differs. No sentence names a maker's finish. Shares are those of
simulated pairs, and every sentence that prints one says so. Nothing here judges whether a region is
real. What would tell two causes apart is common practice of the bench, no source; none of it may be
a solvent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.wording.sentences import counted, listed, sentence
from heelstamp.wording.strength import percent

BASIS = "simulated pairs only; no real instrument was photographed"

KINDS = {
    "darker": "darker",
    "brighter": "brighter",
    "other hue": "other hue",
    "gradual": "fading in without a border",
}
LEAST_SUPPORT = 0.05
"""Causes with less are counted as others."""
UNTOLD = "not told apart"
"""The share that no cause is given."""

COULD_MAKE = {
    "light or shape": (
        "a difference that light, shape or dust could make; move the lamp to the opposite side, "
        "brush the surface, repeat"
    ),
    "dust or fibre": "a difference that dust or a fibre could make; brush the surface, repeat",
    "a part that is not drawn": (
        "a difference that a part could make which is not drawn; draw the outline and every part, "
        "strings and shadows of parts too, then compare again"
    ),
}
"""What else than the finish could have made a difference, and what to do, by ``one_frame.Why``."""
LEFT_OPEN = "left open"
MOST_SURE = 0.95
"""No greater share is told."""
MOST_NAMED = 6

DECIDING = {
    "touch-up": "the border under a loupe in raking light, and a step in gloss",
    "wear-through": "whether the surface lies lower, and ground or colour shows",
    "overspray, later clear or fill": (
        "edges of parts and screw holes, and the finish beneath them"
    ),
    "surface film": "whether a dry soft cloth, used with consent and logged, changes the glow",
    "shaded by something removed": (
        "rests of adhesive, and what the owner tells of things removed"
    ),
    "shellac": "the colour of the glow against a dated sample of shellac beside it",
    "light or shape": "the same place with the lamp on the opposite side",
    "dust or fibre": "the same place after brushing",
    "none of these": "a loupe in raking light",
}
"""What would tell a cause of ``luminescence.causes`` from others."""


def area_words(area_cm2: float, uncertainty_cm2: float | None) -> str:
    """Write an area and its standard uncertainty in cm².

    Examples
    --------
    >>> area_words(2.041, 0.11)
    '2.04 ± 0.11 cm²'
    """
    doubt = "" if uncertainty_cm2 is None else f" ± {uncertainty_cm2:.2f}"
    return f"{area_cm2:.2f}{doubt} cm²"


def causes_words(causes: Mapping[str, float]) -> str:
    """Write causes with their support, strongest first.

    Examples
    --------
    >>> causes_words({"surface film": 0.13, "touch-up": 0.85, "wear-through": 0.02})
    'touch-up 0.85, surface film 0.13 and others 0.02'
    >>> causes_words({"touch-up": 0.8, "not told apart": 0.2})
    'touch-up 0.80 and not told apart 0.20'
    >>> causes_words({"not told apart": 1.0})
    'none is told'
    """
    if first_cause(causes) is None:
        return "none is told"
    told = [f"{cause} {share:.2f}" for cause, share in _ordered(causes) if share >= LEAST_SUPPORT]
    rest = sum(share for share in causes.values() if share < LEAST_SUPPORT)
    if round(rest, 2) > 0:
        told.append(f"others {rest:.2f}")
    return listed(told)


def deciding_words(causes: Mapping[str, float]) -> str:
    """Write what would separate the two causes with most support."""
    open_ones = [cause for cause, share in _ordered(causes) if share >= LEAST_SUPPORT]
    told = [DECIDING[cause] for cause in open_ones if cause in DECIDING]
    return "; ".join(told[:2]) or DECIDING["none of these"]


def first_cause(causes: Mapping[str, float]) -> tuple[str, float] | None:
    """The cause with most support, and its share; None where none is told."""
    return next((one for one in _ordered(causes) if one[0] != UNTOLD), None)


def _ordered(causes: Mapping[str, float]) -> list[tuple[str, float]]:
    return sorted(causes.items(), key=lambda item: (item[0] == UNTOLD, -item[1], item[0]))


def kinds_words(regions: Sequence[tuple[int, str, float | None]]) -> str:
    """Write in how many places a glow differs, for an entry: number, kind, area in cm² of each."""
    told = [
        f"region {number} {KINDS[kind]}" + ("" if area is None else f", {area_words(area, None)}")
        for number, kind, area in regions
    ]
    return f"Differs in {counted(len(regions), 'place')}: {'; '.join(told)}."


def open_words(count: int) -> str:
    """Write in an entry how many differences were left open; empty for none.

    Examples
    --------
    >>> open_words(2)
    'Left open in 2 places, which light, shape, dust or an undrawn part could make.'
    """
    if not count:
        return ""
    return (
        f"Left open in {counted(count, 'place')}, which light, shape, dust or an undrawn part "
        "could make."
    )


def zone_words(assessed_cm2: float | None, face: str = "this face") -> str:
    """Name what was assessed, with its area when there is a scale."""
    if assessed_cm2 is None:
        return f"the assessed part of {face}"
    return f"the {assessed_cm2:.0f} cm² of {face} that were assessed"


@sentence("glow even", "seen", 6)
def even(*, zone: str) -> str:
    return (
        f"No area of differing glow was found under UV-A on {zone}: even (cohesive) there. This "
        "does not by itself show that the finish is the maker's."
    )


def moved_words(places: int, brushed: bool) -> str:
    """Write in an entry from how many places the lamp shone, and whether dust was brushed off."""
    told = "brushed between the frames" if brushed else "not brushed between the frames"
    return f"UV-A frames with the lamp at {places} places, {told}."


@sentence("glow lamp moved", "seen", 6)
def lamp_moved(*, places: int, brushed: bool, turned: int | None) -> str:
    """That the lamp was moved, and what this does for the answer."""
    dust = (
        "the surface was brushed between them"
        if brushed
        else "the surface was not brushed between them, so that small bright places count as dust"
    )
    by = "" if turned is None else f" (the light turned by {turned} degrees)"
    return (
        f"Photographed with the lamp at {places} places, opposite sides first{by}; {dust}. What "
        "differs alike from all of them is told; what the light made is not."
    )


@sentence("glow lamp told", "seen", 6)
def lamp_told(
    *, wavelength_nm: float | None, filter_: str, distance_mm: float | None, camera: Sequence[str]
) -> str:
    """The lamp as the examiner tells it, and the camera as the files do."""
    told = [
        "" if wavelength_nm is None else f"{wavelength_nm:g} nm",
        f"filter {filter_}" if filter_ else "",
        "" if distance_mm is None else f"{distance_mm:g} mm away",
    ]
    lamp = ", ".join(one for one in told if one)
    parts = [f"Lamp as the examiner tells it: {lamp}." if lamp else ""]
    parts.append(f"Camera as the files tell: {'; '.join(camera)}." if camera else "")
    return " ".join(one for one in parts if one)


SIDES = (
    "right",
    "lower right",
    "lower edge",
    "lower left",
    "left",
    "upper left",
    "upper edge",
    "upper right",
)
"""Sides of a photograph, each 45 degrees further, turning downwards."""


def side_words(degrees: float) -> str:
    """Name the side of the photograph in a direction, 0 to the right and 90 downwards.

    Examples
    --------
    >>> side_words(225), side_words(350)
    ('upper left', 'right')
    """
    return SIDES[round(degrees / 45.0) % len(SIDES)]


@sentence("glow put lamp", "seen", 6)
def put_lamp(*, towards: float | None) -> str:
    """Where to put the lamp for the second UV-A frame.

    Parameters
    ----------
    towards
        Where its light came from in the first, degrees; None where that cannot be told.
    """
    if towards is None:
        side = "Put the lamp on the opposite side of the body"
    else:
        came, to = side_words(towards), side_words(towards + 180.0)
        side = f"Its light came from the {came} of the photograph. Put the lamp at the {to}"
    return (
        f"{side}, at the same distance, 35 to 60 degrees above the plane of the body. Leave camera,"
        " body and settings alone, and brush the surface first. Wear UV goggles."
    )


@sentence("glow none told", "seen", 6)
def none_told(*, zone: str) -> str:
    """That nothing is put down to the finish where differences are left open."""
    return (
        f"Under UV-A no difference on {zone} is put down to the finish; whether it is even there "
        "stays open."
    )


@sentence("glow left open", "seen", 6)
def left_open(*, why: str, labels: Sequence[str], places: Sequence[str]) -> str:
    """What light, shape, dust or an undrawn part could have made, and what to do.

    Parameters
    ----------
    why
        Key of ``COULD_MAKE``.
    labels, places
        Name in the picture, and field of the photograph, of each place.
    """
    named = [f"{one} {place}" for one, place in zip(labels, places, strict=True)][:MOST_NAMED]
    more = len(labels) - len(named)
    told = listed([*named, f"{more} more"] if more else named)
    could, _, step = COULD_MAKE[why].partition("; ")
    return (
        f"Left open, {told}: {could}. {step[0].upper()}{step[1:]}. No area and no cause is given, "
        "and it weighs nothing in the dating."
    )


@sentence("glow places left open", "seen", 6)
def places_left_open(*, face: str, count: int) -> str:
    """How many differences were left open, for a page that does not tell them one by one."""
    return (
        f"{counted(count, 'place')[0].upper()}{counted(count, 'place')[1:]} on the {face} "
        f"{'is' if count == 1 else 'are'} left open: light, shape, dust or an undrawn part could "
        f"make {'it' if count == 1 else 'them'}."
    )


@sentence("glow differs", "seen", 6)
def differs(*, number: int, place: str, kind: str, visible: bool) -> str:
    """That the glow differs in a region, and whether the eye sees it."""
    seen = "visible" if visible else "not visible"
    return (
        f"Region {number}, {place}: the glow differs here ({KINDS[kind]}); {seen} in ordinary "
        "light."
    )


@sentence("glow face differs", "seen", 6)
def face_differs(
    *, face: str, visible: int, hidden: int, together_cm2: float | None, assessed_cm2: float | None
) -> str:
    """In one sentence that the glow of a face differs, in how many places and how large.

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
    return (
        f"{face}: under UV-A the glow differs in {counted(count, 'place')}{extent}; {seen} in "
        "ordinary light."
    )


@sentence("glow simulated", "seen", 6)
def simulated() -> str:
    return "Both halves of this pair are simulated pictures: no real instrument was photographed."


@sentence("glow set aside", "seen", 6)
def set_aside(*, number: int, by: str, reason: str) -> str:
    return (
        f"Region {number} was set aside by {by}: {reason.rstrip('. ')}. The finding stays as it "
        "was made."
    )


@sentence("glow border by hand", "seen", 6)
def border_by_hand(*, number: int, by: str, reason: str) -> str:
    return f"Region {number}: {by} drew its border by hand: {reason.rstrip('. ')}."


@sentence("glow measured", "measured", 6)
def measured(
    *, number: int, area_cm2: float | None, uncertainty_cm2: float | None, ratio: float
) -> str:
    """Area, when there is a scale, and glow against the finish around."""
    area = "" if area_cm2 is None else f", over {area_words(area_cm2, uncertainty_cm2)}"
    return f"Region {number}: glow {ratio:.2f} of that of the finish around it{area}."


@sentence("glow sure", "inferred", 6)
def sure(*, number: int, share: float) -> str:
    """The calibrated confidence, as the share on simulated pairs that it is."""
    most = "" if share < MOST_SURE else " or more, and no more is told,"
    return (
        f"Region {number}: of regions that look like it, {percent(share)}{most} were true "
        "differences on simulated pairs; no real instrument was counted."
    )


@sentence("glow causes", "inferred", 6)
def possible_causes(*, number: int, causes: Mapping[str, float]) -> str:
    """Possible causes with their support, and what would tell them apart."""
    return (
        f"Region {number}: possible causes with their support (shares of one): "
        f"{causes_words(causes)}. What would tell them apart: {deciding_words(causes)}."
    )


@sentence("glow bound", "seen", 6)
def bound(*, smallest_mm: float) -> str:
    """What was too small or lay outside."""
    return (
        f"Not assessed: marks under {smallest_mm:.0f} mm across, parts, the outermost rim and "
        "narrow strips along it."
    )


@sentence("glow not assessable", "seen", 6)
def not_assessable(*, code: str, found: str, remedy: str) -> str:
    return f"Not assessable, because {found} ({code}). {remedy}"


@sentence("glow weakened", "seen", 6)
def weakened(*, code: str, found: str, remedy: str) -> str:
    return f"Weaker, because {found} ({code}). {remedy}"


@sentence("glow cannot tell", "inferred", 6)
def cannot_tell() -> str:
    return (
        "A finish of any age can be even once it has aged: this look does not tell the finish of "
        "the first completion from an old complete refinish. That takes a look at areas which "
        "parts have covered."
    )
