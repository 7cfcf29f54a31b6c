"""What the shop opened itself: what is seen of an opening after that is no evidence of it.

Only looks entered before the shop's own first opening count, because its own driver and iron leave
the same traces. An act counts by the words of its entry (``acts`` of the opening), by a screw taken
out on the tray (``step``), and by its sort: what is opened, fitted or mended at a part may do all
that leads to that part.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.catalogue import DossierState, Treatment
from heelstamp.chronology import Chronology

_MAY_OPEN = frozenset({"open", "fit", "mend"})


@dataclass(frozen=True)
class OwnAct:
    """The shop's first act that did an opening: its words and its place in the journal."""

    act: str
    seq: int


def own_acts(state: DossierState, chronology: Chronology) -> dict[str, OwnAct]:
    """The shop's first act of each opening, by the opening's name."""
    found: dict[str, OwnAct] = {}

    def note(opening: str, act: str, id_: str) -> None:
        seq = state.entered[id_].seq
        if opening not in found or seq < found[opening].seq:
            found[opening] = OwnAct(act, seq)

    for id_, done in state.treatments.items():
        for opening in openings_done(done, chronology):
            note(opening, done.act, id_)
    for id_, screw in state.screws.items():
        for row in chronology.openings:
            if row.step == screw.opening:
                note(row.name, "screws taken out", id_)
    return found


def openings_done(done: Treatment, chronology: Chronology) -> set[str]:
    """The openings that an act may have done, or would do."""
    led = {
        row.key: {name for level in row.levels for way in level.path for name in way}
        for row in chronology.parts
    }
    named = {row.name for row in chronology.openings if done.act in row.acts}
    if done.sort in _MAY_OPEN and done.part in led:
        # an act of several openings, as of any joint, is that of the part it was done to
        return (named & led[done.part] or named) | led[done.part]
    return named


def late_looks(state: DossierState, chronology: Chronology) -> dict[str, str]:
    """Observations of openings that came after the shop's own act, with that act's words."""
    acts = own_acts(state, chronology)
    found: dict[str, str] = {}
    for id_, seen in state.observations.items():
        row = chronology.sign(seen.sign or "")
        opening = None if row is None else row.openings.get(seen.part)
        act = acts.get(opening or "")
        if act is not None and state.entered[id_].seq > act.seq:
            found[id_] = act.act
    return found
