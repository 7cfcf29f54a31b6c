"""The rack: one row an instrument, with where it stands and what is due.

A row is a pure summary of a folded dossier. Its short form may be kept beside the digest of the
chain's head, because an equal head is an equal dossier.
"""

from __future__ import annotations

import msgspec

from heelstamp.casework.buyer_questions import open_tasks
from heelstamp.casework.dose_clock import lamp_on
from heelstamp.catalogue import DossierState, PartsTree

RACK_FORM = "heelstamp/rack-row/3"


class RackRow(msgspec.Struct, frozen=True, kw_only=True):
    """What the rack says of one instrument.

    Attributes
    ----------
    custody
        Where it is, in the words of `heelstamp.catalogue.custody`.
    opened
        Label of the deepest opening that an act recorded.
    due
        What waits to be done, the most pressing first.
    """

    tag: str
    maker: str
    model: str
    kind: str
    custody: str
    opened: str
    entries: int
    photographs: int
    looked: int
    parts: int
    due: list[str]


def rack_row(state: DossierState, tree: PartsTree) -> RackRow:
    """Summarise a dossier."""
    looked = {one.part for one in state.observations.values() if one.status != "not looked"}
    return RackRow(
        tag=state.instrument.tag,
        maker=state.instrument.maker,
        model=state.instrument.model,
        kind=tree.label,
        custody=state.custody_state,
        opened=_deepest(state, tree),
        entries=state.length,
        photographs=len(state.photographs),
        looked=len(looked & set(tree.keys)),
        parts=len(tree),
        due=_due(state),
    )


def _deepest(state: DossierState, tree: PartsTree) -> str:
    done = {one.act for one in state.treatments.values()}
    opened = [one.label for one in tree.openings if one.act and one.act in done]
    return opened[-1] if opened else tree.openings[0].label


def _due(state: DossierState) -> list[str]:
    due = []
    if state.custody_state == "missing":
        due.append("missing: find it, or report it")
    if state.custody_state == "not received":
        due.append("not received yet")
    due += [f"a buyer asks: {one.text}" for one in open_tasks(state)]
    bare = state.treatments_without_evidence()
    if lamp_on(state) is not None:
        due.append("the lamp is on, or was not entered as off")
    if bare:
        due.append(f"evidence before or after is wanting for {', '.join(bare)}")
    if state.dangling:
        names = ", ".join(dict.fromkeys(one.id for one in state.dangling))
        due.append(f"{names} names something withdrawn")
    return due
