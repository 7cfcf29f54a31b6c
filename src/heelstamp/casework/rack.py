"""The rack: one row an instrument, with its picture, where it hangs, its price and what is due.

A row is a pure summary of a folded dossier. Its short form may be kept beside the digest of the
chain's head, because an equal head is an equal dossier.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from heelstamp.casework.appraisal.agreed import price_word
from heelstamp.casework.appraisal.entering import said_last
from heelstamp.casework.next_step import due
from heelstamp.catalogue import DossierState, PartsTree

RACK_FORM = "heelstamp/rack-row/5"
WORDS_MOST = 4000
"""Characters of a dossier that a search looks through."""

PICTURED = ("overall-front", "overall-back")
"""Slots of the photo plan that show an instrument as a whole, the best first."""


class RackRow(msgspec.Struct, frozen=True, kw_only=True):
    """What the rack says of one instrument.

    Attributes
    ----------
    picture
        Frame that shows it as a whole; empty where there is none that everyone may see.
    custody, place
        Whose hands it is in, by `heelstamp.catalogue.custody`, and the place entered last.
    opened
        Label of the deepest opening that an act ever recorded.
    sum
        What was entered last of sale or insured value, with the word for it; empty where nothing.
    due
        What waits to be done, the most pressing first.
    """

    form: str = RACK_FORM
    tag: str
    maker: str
    model: str
    kind: str
    picture: str
    custody: str
    place: str
    opened: str
    sum: str
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
        picture=picture_of(state),
        custody=state.custody_state,
        place=place_of(state),
        opened=deepest_opening(state, tree),
        sum=last_sum(state),
        entries=state.length,
        photographs=len(state.photographs),
        looked=len(looked & set(tree.keys)),
        parts=len(tree),
        due=[one.why for one in due(state)],
    )


def unreadable(tag: str, why: str) -> RackRow:
    """A row for a dossier that cannot be folded, with the reason: it hides no other."""
    return RackRow(
        tag=tag,
        maker="",
        model="",
        kind="",
        picture="",
        custody="its record cannot be read",
        place="",
        opened="",
        sum="",
        entries=0,
        photographs=0,
        looked=0,
        parts=0,
        due=[why],
    )


def picture_of(state: DossierState) -> str:
    """Frame that shows the instrument as a whole in ordinary light, and that is not private."""
    open_frames = [
        one for one in state.photographs.values() if one.light == "visible" and not one.private
    ]
    for slot in PICTURED:
        whole = [one.id for one in open_frames if one.slot == slot]
        if whole:
            return whole[-1]
    return open_frames[0].id if open_frames else ""


def place_of(state: DossierState) -> str:
    """Place that was entered last with a change of custody; empty where none was."""
    places = [one.place for one in state.custody.values() if one.place]
    return places[-1] if places else ""


def deepest_opening(state: DossierState, tree: PartsTree) -> str:
    """Label of the deepest opening that an act ever recorded."""
    done = {one.act for one in state.treatments.values()}
    opened = [one.label for one in tree.openings if one.act and one.act in done]
    return opened[-1] if opened else tree.openings[0].label


def last_sum(state: DossierState) -> str:
    """Price that was agreed or paid for it, else the value it is insured at, as entered last."""
    said = said_last(state)
    for about, words in (("sold", f"{price_word(state)} at"), ("insured value", "insured at")):
        if about in said:
            return f"{words} {said[about].decided}"
    return ""


def words_of(state: DossierState, tree: PartsTree) -> str:
    """What a search may ask for, in small letters: names, numbers, marks, places, hands, things."""
    return " ".join(dict.fromkeys(_words(state, tree))).casefold()[:WORDS_MOST]


def _words(state: DossierState, tree: PartsTree) -> Iterator[str]:
    one = state.instrument
    yield from (one.maker, one.model, one.claimed or "", tree.label, state.custody_state)
    for event in state.custody.values():
        yield from (event.place, event.giver, event.receiver)
    for seen in state.observations.values():
        yield seen.text or ""
    for thing in state.contents.values():
        yield thing.item
    for said in state.statements.values():
        yield said.text
