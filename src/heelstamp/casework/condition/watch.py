"""Photographs of one slot, of two visits, compared: places to look at, and what explains them.

Frames belong together by the slot they were taken for; an act entered between two of them, or a
name that says so (``bridge-after``, ``return-overall-front``), parts two visits. What differs is a
*place to look at*: on drawn faces the comparison was wrong too often to call anything new, and no
real face was tried (``docs/methods/condition.md``). Places that no act on the photographed part can
have made are asked about; a person answers by entering what is there, or that it is the light.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from heelstamp.casework.condition.overlay import REACH
from heelstamp.casework.feature_names import reader_words
from heelstamp.casework.photo_plan import PhotoPlan
from heelstamp.casework.picture_scales import scales_of
from heelstamp.catalogue import Condition, DossierState, PartsTree, Photograph, Treatment
from heelstamp.catalogue.bodies.condition import DifferenceLook
from heelstamp.luminescence.linear import Bytes
from heelstamp.luminescence.visits.comparing import (
    LEAST_LONG,
    STEPS,
    Comparison,
    OtherFaceError,
    Place,
    compare,
)
from heelstamp.luminescence.visits.comparing import Change as Came
from heelstamp.wording import Statement, about_condition
from heelstamp.wording.sentences import Grounds

LIGHTS = 2
"""Photographs of one visit that are compared; more cost more and tell little."""
SHOWN = 12
"""Places that are listed; the rest are counted."""
LEAST_STEPS = 3.0
"""Size of the least place found on drawn faces, in steps of the frame's longer side."""
ENDINGS = ("-before", "-after", "-final", "-found")
RETURNED = "return-"
SAME_VIEW: Mapping[str, str] = {"reassembled": "overall-front"}
"""Slots that show what another shows, later."""
CHANGES_LOOKS = frozenset({"clean", "fit", "mend"})
"""Sorts of act that can change what a part looks like; common practice, no source."""


Outline = tuple[tuple[float, float], ...]


class Spot(NamedTuple):
    """A place as told: what came or went, how clearly, centre, size in mm or None, its pieces."""

    change: Came
    clear: bool
    x: float
    y: float
    size_mm: tuple[float, float] | None
    area_mm2: float | None
    outlines: tuple[Outline, ...]

    def away(self, x: float, y: float, tall: float) -> float:
        """How far a point lies from the nearest edge of it, shares of the width."""
        edges = np.array([at for one in self.outlines for at in one])
        off = (edges - (x, y)) * (1.0, tall)
        return float(np.hypot(off[:, 0], off[:, 1]).min())


@dataclass(frozen=True, slots=True)
class FramePair:
    """Photographs of one slot on two visits.

    Attributes
    ----------
    before, after
        Frames of either visit, at most two, the earliest first.
    acts
        Acts entered between the two visits.
    """

    slot: str
    label: str
    before: tuple[Photograph, ...]
    after: tuple[Photograph, ...]
    acts: tuple[Treatment, ...]

    @property
    def part(self) -> str | None:
        """The part that is photographed; None for the whole instrument."""
        return self.before[0].part or self.after[0].part

    @property
    def one_light(self) -> bool:
        """Whether a visit has one photograph alone."""
        return min(len(self.before), len(self.after)) < LIGHTS

    @property
    def frames(self) -> tuple[str, ...]:
        """Ids of all frames."""
        return tuple(one.id for one in (*self.before, *self.after))

    @property
    def explained_by(self) -> tuple[str, ...]:
        """Acts on the photographed part, or on any where all is seen, that change what is seen."""
        return tuple(
            one.id
            for one in self.acts
            if self.part in (None, one.part) and one.sort in CHANGES_LOOKS
        )


@dataclass(frozen=True, slots=True)
class Watched:
    """What a pair of visits came to.

    Attributes
    ----------
    places
        Places to look at, the worthiest first.
    told
        Share of the frame that was compared; nought where it was refused.
    refused
        Why the frames were not compared; empty where they were.
    left_out
        Pieces that differ no more than light makes.
    answered
        Entries by which a person said what it is.
    """

    pair: FramePair
    places: tuple[Spot, ...]
    told: float
    refused: str = ""
    left_out: int = 0
    long_mm: float | None = None
    answered: tuple[str, ...] = ()

    @property
    def asks(self) -> bool:
        """Whether somebody has to say what happened."""
        return bool(self.places) and not self.pair.explained_by and not self.answered

    def data(self) -> dict[str, Any]:
        """Write it as plain values."""
        return {
            "slot": self.pair.slot,
            "before": [one.id for one in self.pair.before],
            "after": [one.id for one in self.pair.after],
            "acts_between": [one.id for one in self.pair.acts],
            "explained_by": list(self.pair.explained_by),
            "answered_by": list(self.answered),
            "asks": self.asks,
            "refused": self.refused or None,
            "compared_share": round(self.told, 3),
            "left_out": self.left_out,
            "places": [one._asdict() for one in self.places],
        }


def frame_pairs(state: DossierState, plan: PhotoPlan) -> tuple[FramePair, ...]:
    """Frames in ordinary light of one slot on following visits, in the order of the slots."""
    by_view: dict[str, list[Photograph]] = {}
    for one in state.photographs.values():
        if one.slot and one.light == "visible":
            by_view.setdefault(_view(one.slot), []).append(one)
    found = []
    for view, frames in by_view.items():
        visits = _visits(state, frames)
        slot = plan.slot_of(view)
        for before, after in pairwise(visits):
            label = slot.label if slot else view.replace("-", " ")
            between = _between(state, before[-1].id, after[0].id)
            found.append(FramePair(view, label, before, after, between))
    return tuple(found)


def _view(slot: str) -> str:
    name = slot.removeprefix(RETURNED)
    for ending in ENDINGS:
        name = name.removesuffix(ending)
    return SAME_VIEW.get(name, name)


def _visits(state: DossierState, frames: Sequence[Photograph]) -> list[tuple[Photograph, ...]]:
    ordered = sorted(frames, key=lambda one: state.entered[one.id].seq)
    visits: list[list[Photograph]] = [[ordered[0]]]
    for one in ordered[1:]:
        last = visits[-1][-1]
        if last.slot != one.slot or _between(state, last.id, one.id):
            visits.append([one])
        elif len(visits[-1]) < LIGHTS:
            visits[-1].append(one)
    return [tuple(one) for one in visits]


def _between(state: DossierState, first: str, last: str) -> tuple[Treatment, ...]:
    """Acts entered between two frames, and those that name them as from before and after."""
    start, end = state.entered[first].seq, state.entered[last].seq
    return tuple(
        one
        for one in state.treatments.values()
        if start < state.entered[one.id].seq < end or (first in one.before and last in one.after)
    )


def compare_frames(pair: FramePair, read: Callable[[Photograph], Bytes]) -> Comparison | str:
    """Compare the photographs of one pair; words that say why not where they cannot be.

    Parameters
    ----------
    read
        Upright pixels of a photograph, RGB code values of 8 bits.
    """
    before, after = ([read(one) for one in side] for side in (pair.before, pair.after))
    if min(max(one.shape[:2]) for one in (*before, *after)) < LEAST_LONG:
        return f"a photograph has under {LEAST_LONG} pixels"
    try:
        return compare(before, after)
    except OtherFaceError as error:
        which = pair.frames[error.which]
        return f"{which} is not of the same face, framed alike, as {pair.frames[0]}"


def watched(
    state: DossierState, plan: PhotoPlan, pair: FramePair, found: Comparison | str
) -> Watched:
    """Join what the photographs show with what stands in the record."""
    long_mm = _long_mm(state, plan, pair)
    if isinstance(found, str):
        return Watched(pair, (), 0.0, found, long_mm=long_mm)
    spots = tuple(_spot(one, long_mm) for one in found.places)
    answered = _answers(state, pair, spots)
    return Watched(pair, spots, found.told, "", found.left_out, long_mm, answered)


def _spot(one: Place, long_mm: float | None) -> Spot:
    size = area = None
    if long_mm is not None:
        size = (round(one.length * long_mm, 1), round(one.width * long_mm, 1))
        area = round(one.area * long_mm**2, 1)
    outlines = tuple(
        tuple((round(float(x), 4), round(float(y), 4)) for x, y in piece) for piece in one.outlines
    )
    return Spot(one.change, one.clear, round(one.x, 4), round(one.y, 4), size, area, outlines)


def _long_mm(state: DossierState, plan: PhotoPlan, pair: FramePair) -> float | None:
    """Millimetres of the longer side of the first frame: by its rule, else by its slot's plan."""
    frame = pair.before[0]
    wide_mm = scales_of(state).get(frame.id)
    if wide_mm is not None:
        return wide_mm * max(frame.width, frame.height) / frame.width
    slot = plan.slot_of(pair.slot)
    return None if slot is None else slot.covers_mm


def _answers(state: DossierState, pair: FramePair, spots: Sequence[Spot]) -> tuple[str, ...]:
    """Entries that say what it is: that it is the light, or conditions at each place shown."""
    after = {one.id for one in pair.after}
    looks = [
        one.id
        for one in state.of(DifferenceLook).values()
        if one.after in after and one.before in {frame.id for frame in pair.before}
    ]
    if looks:
        return tuple(looks)
    named = [
        one
        for one in state.of(Condition).values()
        if one.frame in after and one.x is not None and one.y is not None
    ]
    tall = pair.after[0].height / pair.after[0].width
    used = []
    for spot in spots[:SHOWN]:
        near = [one.id for one in named if spot.away(one.x or 0.0, one.y or 0.0, tall) <= REACH]
        if not near:
            return ()
        used += near
    return tuple(dict.fromkeys(used))


def describe_spot(one: Spot, pair: FramePair) -> str:
    """One place in words: on which visit it is seen, its size, its pieces."""
    return about_condition.differing_place(
        gone=one.change == "went",
        clear=None if pair.one_light else one.clear,
        size_mm=one.size_mm,
        pieces=len(one.outlines),
    )


def describe_watched(one: Watched, tree: PartsTree) -> Statement:
    """Say what a comparison came to, and ask where no act explains it."""
    grounds = Grounds((*one.pair.frames, *(act.id for act in one.pair.acts)), one.pair.frames)
    id_ = f"frames compared:{one.pair.after[0].id}"
    frames = [one.pair.before[0].id, one.pair.after[0].id]
    part = one.pair.part
    where = tree[part].label if part and part in tree else "whole instrument"
    if one.refused:
        return about_condition.not_compared(id_, grounds, frames=frames, why=one.refused)
    least = None if one.long_mm is None else LEAST_STEPS * one.long_mm / STEPS
    if not one.places:
        return about_condition.nothing_differs(
            id_, grounds, frames=frames, where=where, told=one.told, least_mm=least
        )
    acts = {act.id: reader_words(act.act) for act in one.pair.acts}
    return about_condition.differs(
        id_,
        grounds,
        frames=frames,
        where=where,
        count=len(one.places),
        clear=sum(spot.clear for spot in one.places),
        first=describe_spot(one.places[0], one.pair),
        one_light=one.pair.one_light,
        explained=[acts[id_] for id_ in one.pair.explained_by],
        answered=bool(one.answered),
        acts=list(dict.fromkeys(acts.values())),
    )
