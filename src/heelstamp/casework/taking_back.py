"""Taking back: the last entry of one hand is withdrawn, then the one before it; and putting back.

The withdrawal is a correction, so both stay in the journal. It is known by its reason, and is never
itself what is taken back. Putting back withdraws the withdrawal: what stood stands again.
"""

from __future__ import annotations

from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import DossierState, PartsTree, Unconverted, kind_of
from heelstamp.catalogue.corrections import Version
from heelstamp.errors import ConflictError

REASON = "taken back at once"
PUT_BACK = "put back"


def last_of(state: DossierState, hand: str) -> str:
    """Id of the last entry of *hand* that stands; empty where there is none."""
    ours = {one.id for one in state.corrections.values() if one.reason in (REASON, PUT_BACK)}
    standing = [
        (entered.seq, one)
        for one, entered in state.entered.items()
        if entered.by == hand and state.stands(one) and one not in ours
    ]
    return max(standing)[1] if standing else ""


def taking_back(state: DossierState, hand: str, id_: str) -> tuple[str, list[NewEntry]]:
    """Id of what is taken back, and the correction that does it.

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
    last = last_of(state, hand)
    if not last:
        raise ConflictError(
            f"nothing of {hand} to take back",
            where=state.instrument.tag,
            remedy="Enter something first.",
        )
    body = {"id": id_, "corrects": last, "reason": REASON, "replacement": None}
    return last, [NewEntry("correction", body)]


def putting_back(state: DossierState, hand: str, taken: str, id_: str) -> list[NewEntry]:
    """The correction that lets an entry stand again which *hand* took back.

    Raises
    ------
    ConflictError
        It was not taken back by this hand, or stands again already.
    """
    said = _standing_version(state, taken)
    if said is None or said.reason != REASON or said.by != hand:
        raise ConflictError(
            "nothing to put back",
            where=state.instrument.tag,
            received=taken,
            remedy=f"Only what {hand} took back, and nobody put back since, can stand again.",
        )
    body = {"id": id_, "corrects": said.entry, "reason": PUT_BACK, "replacement": None}
    return [NewEntry("correction", body)]


def entry_words(state: DossierState, tree: PartsTree, id_: str) -> str:
    """Name an entry by its kind and its part, whether it stands or was withdrawn."""
    said = state.history.get(id_, ())
    body = next((one.body for one in reversed(said) if one.body is not None), None)
    if body is None:
        return ""
    part = getattr(body, "part", None)
    kind = body.kind if isinstance(body, Unconverted) else kind_of(body).replace("_", " ")
    return f"{kind}, {tree.part(part).label}" if part and part in tree else kind


def withdrawn_words(state: DossierState, tree: PartsTree, id_: str) -> str:
    """Name an entry that was withdrawn; empty where it stands or never was."""
    said = _standing_version(state, id_)
    return "" if said is None or said.body is not None else entry_words(state, tree, id_)


def _standing_version(state: DossierState, id_: str) -> Version | None:
    return next((one for one in state.history.get(id_, ()) if one.stands), None)
