"""Taking back: the last entry of one hand is withdrawn, then the one before it.

The withdrawal is a correction, so both stay in the journal. It is known by its reason, and is never
itself what is taken back.
"""

from __future__ import annotations

from heelstamp.casework.new_entry import Act
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.errors import ConflictError

REASON = "taken back at once"


def taking_back(state: DossierState, hand: str, id_: str) -> tuple[str, list[Act]]:
    """Give what is taken back, and the correction that does it.

    Parameters
    ----------
    hand
        Who signs; nothing of another hand is touched.
    id_
        Id of the correction.

    Raises
    ------
    ConflictError
        Nothing of this hand stands.
    """
    withdrawals = {one.id for one in state.corrections.values() if one.reason == REASON}
    standing = [
        (entered.seq, one)
        for one, entered in state.entered.items()
        if entered.by == hand and state.stands(one) and one not in withdrawals
    ]
    if not standing:
        raise ConflictError(
            f"nothing of {hand} to take back",
            where=state.instrument.tag,
            remedy="Enter something first.",
        )
    last = max(standing)[1]
    body = {"id": id_, "corrects": last, "reason": REASON, "replacement": None}
    return last, [("correction", body)]


def withdrawn_words(state: DossierState, tree: PartsTree, id_: str) -> str:
    """Name an entry that was withdrawn by its kind and part; empty where it was not."""
    said = state.history.get(id_, ())
    if not said or said[-1].body is not None:
        return ""
    body = next((one.body for one in said if one.body is not None), None)
    part = getattr(body, "part", None)
    kind = type(body).__name__.lower() if body is not None else "entry"
    return f"{kind}, {tree.part(part).label}" if part and part in tree else kind
