"""A mark beside its photograph: what can be read in it, and how much each reading weighs.

Every reading that a rule allows is shown as a tile, never only the likeliest. Readings a person
chooses stand in place of the rule's. A second person reads blind: the first reading is not shown to
them until theirs stands, and theirs is entered as a *statement* of a second reader about the mark,
because a mark read twice is still one mark and must not weigh twice in the dating.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from heelstamp.casework.dating.mark_reading import plausible_first, read_mark
from heelstamp.casework.dating.production import production_of
from heelstamp.casework.dating.translation import translate
from heelstamp.casework.first_look import OTHERWISE
from heelstamp.casework.looking import last_said
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.photo_plan import PhotoPlan
from heelstamp.catalogue import (
    DossierState,
    Observation,
    PartsTree,
    Photograph,
    Statement,
    body_data,
)
from heelstamp.chronology import Chronology
from heelstamp.errors import ConflictError, InputError
from heelstamp.marks import MarkContext, Reading
from heelstamp.units import Period, format_month
from heelstamp.wording.strength import percent

FINE_PX_PER_MM = 30.0
"""Slots of the photo plan at least this fine are taken to show marks."""
FEW = 6
"""Readings that are shown first where there are many."""
SECOND_READER = "second reader"
_WORDS = ((0.6, "most of the weight"), (0.25, "some of the weight"), (0.0, "little of the weight"))


@dataclass(frozen=True, slots=True)
class Tile:
    """One reading.

    Attributes
    ----------
    value
        Its months as the form sends them: ``1965-03`` or ``1965-03..1965-08``.
    months, word, share
        In words; the share is among the readings shown, not a probability of the date.
    evidence
        False when its rule stands on memory alone: shown, and kept out of the dating.
    chosen
        A person chose it.
    first
        Among the plausible few that are shown without asking for more.
    """

    value: str
    months: str
    word: str
    share: str
    percent: float
    detail: str
    source: str
    evidence: bool
    chosen: bool
    first: bool = True


@dataclass(frozen=True, slots=True)
class MarkView:
    """One mark as this hand may see it.

    Attributes
    ----------
    hidden
        The first reading is another hand's and no second one stands: text and tiles are empty.
    seconds
        What second readers wrote, with their hands; empty while hidden.
    agrees
        Whether the last of them wrote the same text or status; None without one.
    """

    id: str
    part: str
    label: str
    frames: tuple[str, ...]
    by: str
    hidden: bool
    answer: str
    tiles: tuple[Tile, ...]
    why_not: str
    seconds: tuple[tuple[str, str], ...]
    agrees: bool | None


@dataclass(frozen=True, slots=True)
class Waiting:
    """A photograph fine enough to show a mark, which no mark names yet."""

    frame: str
    part: str
    label: str


def mark_views(
    state: DossierState, tree: PartsTree, chronology: Chronology, context: MarkContext, hand: str
) -> tuple[MarkView, ...]:
    """The marks of a dossier, in the order of entry, as *hand* may see them."""
    marks = [one for one in state.observations.values() if one.kind == "mark"]
    apart = {
        one.seen.id: one.why_not
        for one in translate(marks, chronology, context)
        if one.why_not and one.mark is not None and one.mark.readings
    }
    return tuple(
        _view(seen, state, tree, hand, lambda one: _tiles(one, chronology, context, apart))
        for seen in marks
    )


def hidden_marks(state: DossierState, hand: str) -> frozenset[str]:
    """The marks that another hand read and no second reader did: *hand* is still blind."""
    return frozenset(
        id_
        for id_, seen in state.observations.items()
        if seen.kind == "mark" and state.entered[id_].by != hand and not any(_seconds(state, id_))
    )


def waiting(state: DossierState, tree: PartsTree, plan: PhotoPlan) -> tuple[Waiting, ...]:
    """The fine photographs that no mark or serial number names."""
    named = {
        frame
        for seen in state.observations.values()
        if seen.kind in ("mark", "serial")
        for frame in seen.frames
    }
    return tuple(
        Waiting(one.id, one.part, tree[one.part].label)
        for one in state.photographs.values()
        if one.part and one.part in tree and one.id not in named and _shows_marks(one, plan)
    )


def read_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    mark: str,
    part: str,
    frame: str,
    status: str,
    text: str,
    base: int | None,
) -> list[NewEntry]:
    """The mark to enter, or the correction of one that stands.

    Raises
    ------
    ConflictError
        Another hand corrected it since *base*.
    """
    if stamp.id in state.entered:
        return []
    body: dict[str, Any] = {"part": part, "kind": "mark", "status": status}
    if status == "read":
        body["text"] = text.strip()
    if not mark:
        told = {"id": stamp.id, **body, "frames": [frame] if frame else [], **stamp.late}
        return [NewEntry("observation", told)]
    seen = _standing(state, mark, base)
    frames = [*seen.frames, *([frame] if frame and frame not in seen.frames else [])]
    replacement = {**body, "id": mark, "part": seen.part, "frames": frames, "note": seen.note}
    return [_correction(stamp, mark, "looked again", replacement)]


def choose_entries(
    state: DossierState,
    stamp: EntryStamp,
    mark: str,
    weights: Mapping[str, float],
    base: int | None,
) -> list[NewEntry]:
    """The correction by which a person's own readings stand.

    Parameters
    ----------
    weights
        Per cent by months as `Tile.value` writes them; nought turns a reading down.

    Raises
    ------
    InputError
        No reading is left, or a weight is not between 0 and 100.
    """
    if stamp.id in state.entered:
        return []
    seen = _standing(state, mark, base)
    if any(not 0 <= weight <= 100 for weight in weights.values()):
        raise InputError("a weight is 0 to 100 %", where=mark, remedy="Give each reading its part.")
    readings = [
        {"period": value.split("..") if ".." in value else value, "weight": weight / 100}
        for value, weight in weights.items()
        if weight > 0
    ]
    if not readings:
        raise InputError(
            "no reading is left", where=mark, remedy='Weigh at least one, or press "illegible".'
        )
    replacement = {**body_data(seen), "readings": readings}
    return [_correction(stamp, mark, "readings chosen beside the photograph", replacement)]


def second_entries(
    state: DossierState, stamp: EntryStamp, mark: str, *, status: str, text: str, hand: str
) -> list[NewEntry]:
    """The statement of a second reader.

    Raises
    ------
    ConflictError
        The first reading is this hand's own.
    InputError
        No such mark, or nothing was read.
    """
    if stamp.id in state.entered:
        return []
    _standing(state, mark, None)
    if state.entered[mark].by == hand:
        raise ConflictError(
            "the second reader is another person than the first",
            where=mark,
            received=hand,
            remedy="Sign as the person who reads now.",
        )
    if status != "read" and status not in OTHERWISE:
        raise InputError("no such answer", received=status, remedy=f"read, {', '.join(OTHERWISE)}.")
    told = text.strip() if status == "read" else status
    body = {"id": stamp.id, "role": SECOND_READER, "about": mark, "text": told, "signed": True}
    return [NewEntry("statement", body)]


def _view(
    seen: Observation,
    state: DossierState,
    tree: PartsTree,
    hand: str,
    read: Callable[[Observation], tuple[tuple[Tile, ...], str]],
) -> MarkView:
    by = state.entered[seen.id].by
    seconds = tuple(_seconds(state, seen.id))
    hidden = seen.id in hidden_marks(state, hand)
    label = tree[seen.part].label if seen.part in tree else seen.part
    told = "" if hidden else (seen.text or "as its readings") if seen.is_read else seen.status
    tiles: tuple[Tile, ...] = ()
    why_not = ""
    if seen.is_read and not hidden:
        tiles, why_not = read(seen)
    spoken = tuple((state.entered[one.id].by, one.text) for one in seconds)
    agrees = _plain(spoken[-1][1]) == _plain(told) if spoken else None
    return MarkView(
        seen.id,
        seen.part,
        label,
        tuple(seen.frames),
        by,
        hidden,
        told,
        tiles,
        why_not,
        spoken,
        agrees,
    )


def _seconds(state: DossierState, mark: str) -> Iterator[Statement]:
    for one in state.statements.values():
        if one.role == SECOND_READER and one.about == mark:
            yield one


def _tiles(
    seen: Observation, chronology: Chronology, context: MarkContext, apart: Mapping[str, str]
) -> tuple[tuple[Tile, ...], str]:
    """The person's readings first, then those of the rules that were not chosen, plausible first.

    *apart* says of marks with readings why they do not count all the same.
    """
    own = read_mark(seen, chronology, context).readings if seen.readings else ()
    ruled: Sequence[Reading] = ()
    why_not = None
    if seen.text:
        data = {key: one for key, one in body_data(seen).items() if key != "readings"}
        found = read_mark(Observation(**data), chronology, context)  # type: ignore[arg-type]
        ruled, why_not = found.readings, found.why_not
    taken = {one.period for one in own}
    others = [one for one in _each_period_once(ruled) if one.period not in taken]
    total = sum(one.weight for one in own or others) or 1.0
    rows = [_tile(one, one.weight / total, chosen=True) for one in own]
    ordered = plausible_first(others, production_of(chronology))
    few = len(ordered) if len(ordered) <= FEW + 1 else FEW
    for place, one in enumerate(ordered):
        share = 0.0 if own else one.weight / total
        rows.append(_tile(one, share, chosen=False, first=place < few))
    return tuple(rows), why_not or apart.get(seen.id, "")


def _each_period_once(readings: Sequence[Reading]) -> list[Reading]:
    """Add up what several forms of one rule give to the same months."""
    by_period: dict[tuple[Period, bool], Reading] = {}
    for one in readings:
        key = (one.period, one.evidence)
        other = by_period.get(key)
        by_period[key] = (
            one
            if other is None
            else replace(max(one, other, key=lambda o: o.weight), weight=one.weight + other.weight)
        )
    return list(by_period.values())


def _tile(one: Reading, share: float, *, chosen: bool, first: bool = True) -> Tile:
    word = next(word for least, word in _WORDS if share >= least) if share else "turned down"
    begin, end = format_month(one.period.first), format_month(one.period.last)
    value = begin if begin == end else f"{begin}..{end}"
    told = percent(share) if share else "0 %"
    return Tile(
        value,
        str(one.period),
        word,
        told,
        round(100 * share, 1),
        one.detail,
        one.source,
        one.evidence,
        chosen,
        first,
    )


def _shows_marks(one: Photograph, plan: PhotoPlan) -> bool:
    slot = plan.slot_of(one.slot, one.light)
    return slot is not None and (slot.px_per_mm or 0.0) >= FINE_PX_PER_MM


def _standing(state: DossierState, mark: str, base: int | None) -> Observation:
    seen = state.observations.get(mark)
    if seen is None or seen.kind != "mark":
        raise InputError("no such mark", received=mark, remedy="Choose one on the page of marks.")
    if base is not None and last_said(state, mark) > base:
        raise ConflictError(
            "this mark was read anew in the meantime",
            where=mark,
            remedy="Look again together, then enter yours after all or leave it out.",
        )
    return seen


def _correction(stamp: EntryStamp, mark: str, reason: str, replacement: dict[str, Any]) -> NewEntry:
    body = {
        "id": stamp.id,
        "corrects": mark,
        "reason": reason,
        "replacement": replacement,
        **stamp.late,
    }
    return NewEntry("correction", body)


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()
