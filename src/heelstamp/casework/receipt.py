"""The receipt: what arrived, from whom, in what hands, with the photographs taken of it so far.

Numbered within the dossier, one for each time the instrument was taken in. It lists the photographs
entered before that moment by their SHA-256, so that neither side can later put another picture in
their place. A receipt is no paper on the instrument: it infers nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.intake import Asking, door_view
from heelstamp.catalogue import Contents, Custody, DossierState, PartsTree, Photograph
from heelstamp.errors import InputError

FROM_OWNER = "received"
TAKEN_IN = (FROM_OWNER, "came back")


@dataclass(frozen=True, slots=True)
class Receipt:
    """One receipt.

    Attributes
    ----------
    number
        Tag of the dossier and number of the taking-in.
    at, by
        When it was entered, and by which hand.
    photographs, contents
        What was entered before it.
    askings
        The owner's word on each act, as it stands now; the receipt of a return goes to another
        person than the owner and holds neither that nor the contents.
    """

    number: str
    at: str
    by: str
    passed: Custody
    photographs: tuple[Photograph, ...]
    contents: tuple[Contents, ...]
    askings: tuple[Asking, ...]


def receipt(state: DossierState, tree: PartsTree) -> Receipt:
    """The receipt of the last time the instrument was taken in.

    Raises
    ------
    InputError
        It was never taken in.
    """
    taken = [one for one in state.custody.values() if one.event in TAKEN_IN]
    if not taken:
        raise InputError(
            "nothing was received yet",
            where=state.instrument.tag,
            remedy="Enter the hand-over at the door first.",
        )
    passed = taken[-1]
    entered = state.entered[passed.id]
    before = {id_ for id_, one in state.entered.items() if one.seq < entered.seq}
    from_owner = passed.event == FROM_OWNER
    view = door_view(state, tree)
    return Receipt(
        number=f"{state.instrument.tag} / {len(taken)}",
        at=entered.at,
        by=entered.by,
        passed=passed,
        photographs=tuple(one for id_, one in state.photographs.items() if id_ in before),
        contents=tuple(state.contents.values()) if from_owner else (),
        askings=view.askings if from_owner else (),
    )
