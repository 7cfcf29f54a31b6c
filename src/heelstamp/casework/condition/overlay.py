"""Two visits laid over each other: what is the same, new or gone, and what explains it.

A place of the later visit is that of the earlier one which its entry names. Where it names none,
it is the nearest of the same damage on the same face and part, in two photographs of the same
slot, within `REACH` of the picture's width: frames of one slot are framed alike. Without
positions two places are the same when each is alone of its damage, face and part. Pairs are made
from the nearest on, each place once. *Gone* is said of a face only that was looked over whole on
the later visit; *new* only of one that was looked over whole on the earlier. Otherwise the answer
is *cannot tell*.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from heelstamp.catalogue import Condition, DossierState, FaceLooked, Treatment
from heelstamp.catalogue.bodies.condition import Visit

REACH = 0.04
"""How far a place may lie from itself in two photographs of one slot, share of width: judgement."""
ORDER: tuple[Visit, ...] = ("intake", "exit", "return")
VISIT_WORDS: dict[Visit, str] = {
    "intake": "when it came in",
    "exit": "when it left",
    "return": "when it came back",
}

Change = Literal["same", "grown", "new", "gone", "cannot tell"]
GROWN = 2.0
"""Standard uncertainties of a difference of sizes beyond which a place is called grown."""
SIZE_MM = 1.0
"""Standard uncertainty of a size where none was given, mm; judgement."""

EXPLAINS: Mapping[str, tuple[str, ...]] = {
    "clean hardware": ("corrosion", "stain"),
    "clean finish": ("stain",),
    "clean board": ("stain",),
    "clean control": ("corrosion",),
    "glue": ("crack", "split", "repair"),
    "dress frets": ("worn through", "repair"),
    "fit part": (
        "missing",
        "corrosion",
        "plating loss",
        "shrinkage",
        "off-gassing",
        "crack",
        "chip",
    ),
}
"""Damage that an act can make or take away; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One place on two visits.

    Attributes
    ----------
    before, after
        As it was entered on either visit; one is None where it was not.
    explained_by
        Ids of acts after the earlier look that can have made the difference.
    """

    change: Change
    before: Condition | None
    after: Condition | None
    explained_by: tuple[str, ...] = ()

    @property
    def place(self) -> Condition:
        """The place as it was seen last."""
        found = self.after or self.before
        assert found is not None
        return found

    @property
    def asks(self) -> bool:
        """Whether somebody has to say what happened."""
        return self.change in ("grown", "new", "gone") and not self.explained_by


def places(state: DossierState, visit: Visit) -> tuple[Condition, ...]:
    """Places entered on one visit, in the order of entry."""
    return tuple(one for one in state.of(Condition).values() if one.visit == visit)


def faces_looked(state: DossierState, visit: Visit) -> frozenset[str]:
    """Faces that were looked over whole on one visit."""
    return frozenset(one.face for one in state.of(FaceLooked).values() if one.visit == visit)


def compare_visits(state: DossierState, earlier: Visit, later: Visit) -> tuple[Compared, ...]:
    """Lay a later visit over an earlier one."""
    before, after = list(places(state, earlier)), list(places(state, later))
    looked = {visit: faces_looked(state, visit) for visit in (earlier, later)}
    done = _last_look(state, later)
    rows: list[Compared] = []
    for old, new in _paired(state, before, after):
        before.remove(old)
        after.remove(new)
        grown = _grown(old, new)
        acts = _acts(state, old, old.id, new.id) if grown else ()
        rows.append(Compared("grown" if grown else "same", old, new, acts))
    for old in before:
        gone = old.face in looked[later]
        acts = _acts(state, old, old.id, done) if gone else ()
        rows.append(Compared("gone" if gone else "cannot tell", old, None, acts))
    for new in after:
        fresh = new.face in looked[earlier] and new.since != "here at intake"
        acts = _acts(state, new, _last_look(state, earlier), new.id) if fresh else ()
        rows.append(Compared("new" if fresh else "cannot tell", None, new, acts))
    return tuple(rows)


def _paired(
    state: DossierState, before: Sequence[Condition], after: Sequence[Condition]
) -> Iterable[tuple[Condition, Condition]]:
    named = {one.id: one for one in before}
    found: list[tuple[Condition, Condition]] = []
    used: set[str] = set()
    for one in after:
        if one.same_as in named and one.same_as not in used:
            found.append((named[one.same_as], one))
            used |= {one.same_as, one.id}
    near = []
    for old in before:
        for new in after:
            if {old.id, new.id} & used or new.same_as is not None:
                continue
            if _kind(old) != _kind(new):
                continue
            off = _distance(state, old, new)
            alone = _alike(before, old) == _alike(after, new) == 1
            if off is None and alone:
                off = 0.0
            if off is not None and off <= REACH:
                near.append((off, old.id, new.id, old, new))
    for _, _, _, old, new in sorted(near, key=lambda row: row[:3]):
        if not {old.id, new.id} & used:
            used |= {old.id, new.id}
            found.append((old, new))
    return found


def _kind(one: Condition) -> tuple[str, str, str | None]:
    return one.damage, one.face, one.part


def _distance(state: DossierState, old: Condition, new: Condition) -> float | None:
    """Distance of two places in photographs of one slot, shares of the width; None without."""
    spots, slots = [], []
    for one in (old, new):
        frame = state.photographs.get(one.frame or "")
        if frame is None or one.x is None or one.y is None or not frame.slot:
            return None
        spots.append((one.x, one.y * frame.height / frame.width))
        slots.append(frame.slot)
    return math.dist(*spots) if slots[0] == slots[1] else None


def _alike(among: Sequence[Condition], one: Condition) -> int:
    return sum(_kind(other) == _kind(one) for other in among)


def _grown(old: Condition, new: Condition) -> bool:
    if old.length_mm is None or new.length_mm is None:
        return False
    doubts = (one.uncertainty_mm or SIZE_MM for one in (old, new))
    return new.length_mm - old.length_mm > GROWN * math.hypot(*doubts)


def _last_look(state: DossierState, visit: Visit) -> str:
    """Id of the entry by which a face was last looked over on a visit; empty for none."""
    looks = [one.id for one in state.of(FaceLooked).values() if one.visit == visit]
    return looks[-1] if looks else ""


def _acts(state: DossierState, place: Condition, after: str, until: str) -> tuple[str, ...]:
    """Acts between two entries that can change such a place, on its part or on none named."""
    start = state.entered[after].seq if after in state.entered else 0
    end = state.entered[until].seq if until in state.entered else math.inf
    return tuple(
        one.id
        for one in state.treatments.values()
        if start < state.entered[one.id].seq < end and _explains(one, place)
    )


def _explains(act: Treatment, place: Condition) -> bool:
    if place.damage not in EXPLAINS.get(act.act, ()):
        return False
    return place.part is None or act.part == place.part
