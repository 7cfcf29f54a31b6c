"""The return: weight and six fixed shots against what left the shop.

Weight: the last weighing before the instrument left is compared with the one at its return. The
difference is held against the scale's uncertainty with a coverage factor of 2 (about 95 %, *Guide
to the Expression of Uncertainty in Measurement*, JCGM 100:2008, 6.3.3), after the change that
recorded string sets account for. The shots are those of the private set, which only the shop has;
whether a shot is the same is said by a person, never by this program.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.photo_plan import PhotoPlan
from heelstamp.catalogue import Custody, DossierState, Photograph, ReturnVerdict
from heelstamp.errors import InputError
from heelstamp.wording.banned import refuse_banned

COVERAGE = 2.0
SHOTS = 6
LEFT = ("to buyer", "to carrier", "to owner", "sent out")
CAME = ("came back", "received", "found")
FIXED = (
    "guard-screws",
    "plate",
    "grain-under-guard",
    "pot-volume-joints",
    "pot-tone-joints",
    "bridge-screws",
    "heel",
    "head-back",
    "overall-front",
    "overall-back",
)
"""Slots that tell one instrument from another, the most telling first (common practice)."""
PREFIX = "return-"
VERDICTS = ("same", "changed", "cannot tell")
STRINGS = "strings"

Outcome = Literal[
    "not weighed",
    "no difference",
    "explained by the strings",
    "not explained",
    "cannot tell: the strings were not weighed",
]


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weight and its standard uncertainty, g."""

    weight_g: float
    uncertainty_g: float


@dataclass(frozen=True, slots=True)
class WeightFinding:
    """What the weights come to.

    Attributes
    ----------
    difference_g, limit_g
        Return minus departure, and the expanded uncertainty it is held against; None unweighed.
    strings_g
        Change that recorded sets of strings account for; None where none was weighed.
    """

    left: Weighing | None
    back: Weighing | None
    difference_g: float | None
    limit_g: float | None
    strings_g: float | None
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Shot:
    """One fixed shot: the frame that left with the record, the frame of the return, what is said.

    ``said`` is the verdict that stands, or None.
    """

    slot: str
    label: str
    before: Photograph | None
    after: Photograph | None
    said: ReturnVerdict | None


def compare_weights(
    left: Weighing | None,
    back: Weighing | None,
    strings: Weighing | None = None,
    *,
    restrung: bool = False,
) -> WeightFinding:
    """Compare two weighings.

    Parameters
    ----------
    left, back
        At departure and at return.
    strings
        Mass of the set now on it minus that of the set it left with, if both were weighed.
    restrung
        Whether a change of strings is recorded at all.

    Examples
    --------
    >>> found = compare_weights(Weighing(3279, 2), Weighing(3254, 2))
    >>> found.difference_g, round(found.limit_g or 0, 1), found.outcome
    (-25, 5.7, 'not explained')
    """
    if left is None or back is None:
        return WeightFinding(left, back, None, None, None, "not weighed")
    difference = back.weight_g - left.weight_g
    limit = COVERAGE * math.hypot(left.uncertainty_g, back.uncertainty_g)
    by_strings = None if strings is None else strings.weight_g
    outcome: Outcome = "not explained"
    if abs(difference) <= limit:
        outcome = "no difference"
    elif strings is not None:
        wider = COVERAGE * math.hypot(left.uncertainty_g, back.uncertainty_g, strings.uncertainty_g)
        if abs(difference - strings.weight_g) <= wider:
            outcome = "explained by the strings"
    elif restrung:
        outcome = "cannot tell: the strings were not weighed"
    return WeightFinding(left, back, difference, limit, by_strings, outcome)


def weight_finding(state: DossierState) -> WeightFinding:
    """Compare the weighings of a dossier around its last departure."""
    departure = departed(state)
    if departure is None:
        return compare_weights(None, None)
    seq = state.entered[departure.id].seq
    weighed = [one for one in state.custody.values() if one.weight_g is not None]
    before = [one for one in weighed if state.entered[one.id].seq <= seq]
    after = [one for one in weighed if one.event in CAME and state.entered[one.id].seq > seq]
    restrung = any(
        one.part == STRINGS and one.sort == "fit" and state.entered[one.id].seq > seq
        for one in state.treatments.values()
    )
    return compare_weights(
        _weighing(before[-1:]), _weighing(after[-1:]), _strings(state, seq), restrung=restrung
    )


def departed(state: DossierState) -> Custody | None:
    """The last time the instrument left the shop."""
    left = [one for one in state.custody.values() if one.event in LEFT]
    return left[-1] if left else None


def shots(state: DossierState, plan: PhotoPlan) -> tuple[Shot, ...]:
    """The fixed shots: slots with a private frame first, then others of `FIXED`."""
    frames = list(state.photographs.values())
    private = {one.slot for one in frames if one.private}
    chosen = [slot for slot in FIXED if slot in private]
    chosen += [slot for slot in FIXED if slot not in private]
    found = []
    for slot in sorted(chosen[:SHOTS], key=FIXED.index):
        row = next((one for one in plan.slots if one.id == slot), None)
        found.append(
            Shot(
                slot,
                row.label if row else slot,
                _last(frames, slot),
                _last(frames, PREFIX + slot),
                state.last(ReturnVerdict, slot=slot),
            )
        )
    return tuple(found)


def verdict_entries(
    state: DossierState, stamp: EntryStamp, shot: Shot, verdict: str, reason: str
) -> list[NewEntry]:
    """What a person says of a shot.

    Raises
    ------
    InputError
        No such verdict, a frame is wanting, a change without a word on what changed.
    """
    if verdict not in VERDICTS:
        raise InputError("no such verdict", received=verdict, remedy=f"{', '.join(VERDICTS)}.")
    if stamp.id in state.entered:
        return []
    if verdict != "cannot tell" and (shot.before is None or shot.after is None):
        raise InputError(
            "one of the two frames is wanting",
            where=shot.slot,
            remedy='Take the shot, or say "cannot tell".',
        )
    if verdict == "changed" and not reason.strip():
        raise InputError("what changed is not told", where=shot.slot, remedy="Say what differs.")
    refuse_banned(reason, where=f"{shot.slot}, reason")
    body = {
        "id": stamp.id,
        "slot": shot.slot,
        "verdict": verdict,
        "left": shot.before.id if shot.before else None,
        "returned": shot.after.id if shot.after else None,
        "reason": reason.strip(),
        **stamp.late,
    }
    return [NewEntry("return_verdict", body)]


def shot_named(all_shots: Sequence[Shot], slot: str) -> Shot:
    """The shot of a slot.

    Raises
    ------
    InputError
        It is none of the six.
    """
    for one in all_shots:
        if one.slot == slot:
            return one
    raise InputError(
        "none of the fixed shots",
        received=slot,
        remedy="One of " + ", ".join(one.slot for one in all_shots) + ".",
    )


def _weighing(found: Sequence[Custody]) -> Weighing | None:
    for one in found:
        if one.weight_g is not None:
            return Weighing(one.weight_g, one.weight_uncertainty_g or 0.0)
    return None


def _strings(state: DossierState, seq: int) -> Weighing | None:
    """The change of mass between the sets weighed last before and last after departure."""
    sets = [
        (state.entered[one.id].seq, one.measured.to("g"))
        for one in state.measurements.values()
        if one.part == STRINGS and one.measured.kind == "mass"
    ]
    before = [mass for at, mass in sets if at <= seq]
    after = [mass for at, mass in sets if at > seq]
    if not before or not after:
        return None
    return Weighing(
        after[-1].value - before[-1].value,
        math.hypot(before[-1].uncertainty, after[-1].uncertainty),
    )


def _last(frames: Sequence[Photograph], slot: str) -> Photograph | None:
    found = [one for one in frames if one.slot == slot]
    return found[-1] if found else None
