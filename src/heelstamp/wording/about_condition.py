"""Condition: one place in words, what changed between two visits, and the grades."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.wording.sentences import counted, listed, sentence

_CHANGED: Mapping[str, str] = {
    "same": "Seen on both visits",
    "grown": "Larger than before",
    "new": "New",
    "gone": "Seen before and not now",
    "cannot tell": "Cannot tell",
}
_UNSEEN = "the face was not looked over whole on both visits"


@sentence("condition place", "seen", 9)
def place(
    *,
    damage: str,
    material: str,
    where: str,
    length_mm: float | None,
    width_mm: float | None,
    uncertainty_mm: float | None,
    since: str,
) -> str:
    """One place: what, of what, where, how large in mm, since when."""
    size = ""
    if length_mm is not None:
        doubt = f" ± {uncertainty_mm:g}" if uncertainty_mm else ""
        wide = f" × {width_mm:g}" if width_mm is not None else ""
        size = f", {length_mm:g}{wide}{doubt} mm"
    when = "when it appeared is not known" if since == "not known" else since
    return f"{damage.capitalize()} ({material}), {where}{size}; {when}."


@sentence("condition change", "inferred", 10)
def change(*, change: str, what: str, where: str, acts: Sequence[str]) -> str:
    """What became of one place between two visits, and which acts explain it."""
    head = f"{_CHANGED[change]}: {what}, {where}"
    if change == "same":
        return f"{head}."
    if change == "cannot tell":
        return f"{head}; {_UNSEEN}."
    if acts:
        return f"{head}; this can come from: {', '.join(acts)}."
    return f"{head}; no act in the record explains it. Who did what?"


def differing_place(
    *, gone: bool, clear: bool | None, size_mm: tuple[float, float] | None, pieces: int
) -> str:
    """One place to look at, as part of a sentence.

    Parameters
    ----------
    clear
        Whether it differs more than light was found to make differ; None where one light a visit
        cannot tell, which is said once for all places.
    """
    size = "" if size_mm is None else f", about {_rounded(size_mm[0])} × {_rounded(size_mm[1])} mm"
    many = f" in {pieces} pieces" if pieces > 1 else ""
    doubt = "; it may be the light" if clear is False else ""
    return f"seen only {'before' if gone else 'after'}{size}{many}{doubt}"


def _rounded(mm: float) -> str:
    """Millimetres as far as a picture tells them."""
    return f"{max(1.0, round(mm)):.0f}"


@sentence("frames compared: places", "inferred", 10)
def differs(
    *,
    frames: Sequence[str],
    where: str,
    count: int,
    clear: int,
    first: str,
    one_light: bool,
    explained: Sequence[str],
    answered: bool,
    acts: Sequence[str],
) -> str:
    """Places to look at in two photographs of one slot, and what can have made them.

    Parameters
    ----------
    clear
        Places that differ more than light was found to make differ.
    first
        What the place that is worthiest of a look is like.
    one_light
        A visit has one photograph: the light alone can look like a change.
    explained
        Acts on the photographed part that can change what it looks like.
    acts
        All acts between the two visits.
    """
    before, after = frames
    doubtful = f", {count - clear} of which may be the light" if 0 < clear < count else ""
    head = (
        f"Places to look at: {before} and {after} ({where}) differ in {counted(count, 'place')}"
        f"{doubtful}; look first at what is {first}"
    )
    light = ". One photograph a visit cannot tell every change from a change of light"
    said = f"{head}{light if one_light else ''}."
    if answered:
        return f"{said} A person looked and entered what it is."
    if explained:
        return f"{said} This can come from: {', '.join(explained)}."
    between = f" (between them: {', '.join(acts)})" if acts else ""
    return (
        f"{said} No cleaning, fitting or mending of this part is in the record{between}. Who did "
        "what?"
    )


@sentence("frames compared: none", "inferred", 10)
def nothing_differs(
    *, frames: Sequence[str], where: str, told: float, least_mm: float | None
) -> str:
    """No place found; what was not compared, and how small a thing could be missed."""
    size = "" if least_mm is None else f" of about {least_mm:.0f} mm or more"
    return (
        f"{frames[0]} and {frames[1]} ({where}): no place{size} was found that differs by more "
        f"than light does; {100 * told:.0f} % of the frame was compared. A fine scratch or a dent "
        "can be missed."
    )


@sentence("frames not compared", "seen", 10)
def not_compared(*, frames: Sequence[str], why: str) -> str:
    return (
        f"{frames[0]} and {frames[1]} were not compared: {why}. Photograph it again, framed alike."
    )


@sentence("condition grade", "opinion", 9)
def grade(*, aspect: str, letter: str, means: str, people: Sequence[str], apart: int) -> str:
    """The letter of one aspect, what it means, and how far two people were apart."""
    said = f"{aspect.capitalize() or 'The whole'}: {letter}" + (f", {means}" if means else "")
    if len(people) < 2:
        return f"{said} (one person graded it)."
    if not apart:
        return f"{said} ({len(people)} people graded it alike, neither seeing the other's letter)."
    step = "one step" if apart == 1 else f"{apart} steps"
    return f"{said} ({len(people)} people graded it, {step} apart; the worse letter counts)."


@sentence("condition grade without fault", "opinion", 9)
def grade_without_fault(
    *, aspect: str, letter: str, means: str, people: Sequence[str], apart: int
) -> str:
    """The best letter of an aspect, which tells of no fault; the same words."""
    return grade.say(aspect=aspect, letter=letter, means=means, people=people, apart=apart)


@sentence("condition letters", "opinion", 9)
def letters(*, graded: Sequence[tuple[str, str]]) -> str:
    """The letters of several aspects in one line, where what each means is told elsewhere."""
    told = listed([f"{aspect} {letter}" for aspect, letter in graded])
    return f"By aspect: {told}; what the letters mean stands under Condition."


@sentence("condition not graded", "seen", 9)
def not_graded(*, aspects: Sequence[str]) -> str:
    return f"Not graded: {', '.join(aspects)}."


@sentence("faces not whole", "seen", 9)
def not_looked(*, faces: Sequence[str], when: str) -> str:
    return f"Not looked over whole {when}: {', '.join(faces)}."


@sentence("condition agreement", "measured", 9)
def agreement(
    *, pairs: int, within_one: float, kappa: float | None, uncertainty: float | None
) -> str:
    """How far the shop's graders agree: share within one step, Cohen's weighted kappa."""
    said = (
        f"Of {pairs} grades that two people gave apart, {100 * within_one:.0f} % were at most one "
        "step apart"
    )
    if kappa is None or uncertainty is None:
        return f"{said}; all are the same letter, so agreement beyond chance cannot be told."
    return f"{said}; agreement beyond chance (weighted kappa) {kappa:.2f} ± {uncertainty:.2f}."
