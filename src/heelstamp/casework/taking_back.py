"""Taking back: the last entry of one hand is withdrawn, then the one before it; and putting back.

The withdrawal is a correction, so both stay in the journal. It is known by its reason, and is never
itself what is taken back. Putting back withdraws the withdrawal: what stood stands again.
"""

from __future__ import annotations

from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.overtaken import said_of
from heelstamp.casework.sharing.rights import may_change
from heelstamp.catalogue import Correction, DossierState, Issue, PartsTree, Unconverted, kind_of
from heelstamp.catalogue.clock import Clock
from heelstamp.catalogue.corrections import Version
from heelstamp.errors import ConflictError

REASON = "taken back at once"
PUT_BACK = "put back"


def last_of(state: DossierState, hand: str) -> str:
    """Id of the last entry of *hand* that stands and that it may take back; empty without one.

    A paper that left the shop, and a note that the clock is unsure, are never taken back at once.
    """
    ours = {one.id for one in state.corrections.values() if one.reason in (REASON, PUT_BACK)}
    said, undone = said_of(state), _undone(state)
    kept = {*state.of(Clock), *state.of(Issue)}
    standing = [
        (entered.seq, one)
        for one, entered in state.entered.items()
        if entered.by == hand
        and state.stands(one)
        and one not in ours
        and one not in undone
        and one not in kept
        and may_change(hand, said.get(one, ()))
    ]
    return max(standing)[1] if standing else ""


def taking_back(
    state: DossierState, hand: str, id_: str, *, named: str = ""
) -> tuple[str, list[NewEntry]]:
    """Id of what is taken back, and the correction that does it; none when that was done already.

    Parameters
    ----------
    hand
        Who signs; nothing of another hand is touched.
    id_
        Id of the correction.
    named
        Id of the entry that the page named; whatever is the last without it.

    Raises
    ------
    ConflictError
        Nothing of this hand stands, or something was entered since the page named another.
    """
    last = last_of(state, hand)
    if not last and not named:
        raise ConflictError(
            f"nothing of {hand} to take back",
            where=state.instrument.tag,
            remedy="Enter something first.",
        )
    if named and named in state.entered and not state.stands(named):
        return named, []
    if named not in ("", last):
        raise ConflictError(
            f"{hand} entered something since this page was shown",
            where=state.instrument.tag,
            received=named,
            remedy="Look what Take back names now, then press it again.",
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


def _undone(state: DossierState) -> frozenset[str]:
    """Corrections that do not count, because the last that counts aimed at them withdraws them."""
    aimed: dict[str, list[Correction]] = {}
    for one in state.corrections.values():
        aimed.setdefault(one.corrects, []).append(one)

    def counts_last(id_: str) -> Correction | None:
        return next((one for one in reversed(aimed.get(id_, ())) if not undone(one.id)), None)

    def undone(id_: str) -> bool:
        later = counts_last(id_)
        while later is not None and (further := counts_last(later.id)) is not None:
            later = further
        return later is not None and later.replacement is None

    return frozenset(id_ for id_ in state.corrections if undone(id_))
