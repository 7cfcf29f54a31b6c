"""What a showing page holds: the listing, faces under both lights, sounds, acts, the date's range.

The same sentences as the listing, of the report that a buyer reads. Acts are grouped by their sort
in the order in which such work goes, since an outsider's record tells of no time (common practice,
no source). Sounds are those of a note or a control that a person released one by one, never a
spoken note.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from heelstamp.casework.feature_names import heading, part_label
from heelstamp.casework.listing.composing import Listing
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.papers.document import ReportDocument
from heelstamp.casework.papers.document_rows import Timeline
from heelstamp.catalogue import DossierState, PartsTree, Recording, body_data, ordinal
from heelstamp.catalogue.bodies.work import TreatmentKind
from heelstamp.errors import InputError
from heelstamp.wording import about_listing as about

SORTS: Mapping[TreatmentKind | None, str] = {
    "open": about.OPENED,
    "clean": about.CLEANED,
    "mend": about.MENDED,
    "fit": about.FITTED,
    "adjust": about.ADJUSTED,
    "close": about.CLOSED,
    None: about.OTHER_ACTS,
}
"""Sorts of acts in the order of telling."""
HEARD = frozenset({"note", "control"})
"""Sorts of recordings that may be released; a voice is never."""
STAGES: Mapping[str, str] = {"found": "as found", "plan": "in between", "final": "after the work"}


@dataclass(frozen=True, slots=True)
class Face:
    """One face in ordinary light and under UV-A, laid over each other.

    Attributes
    ----------
    key
        Of the pair's picture: visible on the left, UV-A laid over it on the right.
    """

    key: str
    title: str
    alt: str
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Heard:
    """A recording that may be heard: its id in the dossier, what it is of, and when."""

    recording: str
    what: str
    when: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph: its id in what leaves, caption, and words for who cannot see it."""

    frame: str
    caption: str
    alt: str


@dataclass(frozen=True, slots=True)
class ShowingPage:
    """All that the page holds; bytes of pictures and sounds travel beside it.

    Attributes
    ----------
    headline, headline_note
        The answer in the fewest words, and the line below it.
    acts
        Sort of acts with their sentences.
    """

    listing: Listing
    headline: str
    headline_note: str
    timeline: Timeline | None
    faces: tuple[Face, ...]
    sounds: tuple[Heard, ...]
    acts: tuple[tuple[str, tuple[str, ...]], ...]
    pictures: tuple[Picture, ...]


def showing_page(
    document: ReportDocument,
    listing: Listing,
    *,
    sorts: Mapping[str, TreatmentKind | None],
    sounds: Sequence[Heard],
) -> ShowingPage:
    """Gather the page of a buyer's report and its listing.

    Parameters
    ----------
    sorts
        Sort of each act, by its id in the report's record.
    """
    shown = {one.frame: one for one in document.pictures}
    groups: dict[TreatmentKind | None, list[str]] = {}
    for line in listing.done:
        groups.setdefault(sorts.get(line.source.removeprefix("act:")), []).append(line.text)
    return ShowingPage(
        listing=listing,
        headline=document.headline,
        headline_note=document.headline_note,
        timeline=document.timeline,
        faces=tuple(
            Face(
                plate.key,
                face.title,
                plate.alt,
                tuple(dict.fromkeys(one.text for one in (*face.short, *face.notes))),
            )
            for face in document.finish
            for plate in face.plates[:1]
        ),
        sounds=tuple(sounds),
        acts=tuple((SORTS[sort], tuple(groups[sort])) for sort in SORTS if sort in groups),
        pictures=tuple(
            Picture(frame, caption, shown[frame].alt) for frame, caption in listing.photographs
        ),
    )


def sounds_of(state: DossierState, tree: PartsTree, *, released: bool = True) -> tuple[Heard, ...]:
    """List the recordings that may be heard, before and after beside each other.

    Parameters
    ----------
    released
        Those alone that a person released; otherwise all that may be.
    """
    found = [
        one
        for one in state.recordings.values()
        if one.sound in HEARD and (one.public or not released)
    ]
    stages = list(STAGES)
    rows = [(_what(one, tree), stages.index(one.stage), one.id) for one in found]
    return tuple(Heard(id_, what, STAGES[stages[n]]) for what, n, id_ in sorted(rows))


def _what(one: Recording, tree: PartsTree) -> str:
    if one.sound == "note":
        fret = f", fret {one.fret}" if one.fret else ", open"
        return heading(f"{ordinal(one.string or 0)} string{fret}")
    take = {"sweep": "turned", "still": "at rest"}.get(one.take or "", "")
    return heading(", ".join(filter(None, (part_label(tree, one.part or ""), take))))


def release_entries(
    state: DossierState, stamp: EntryStamp, recording: str, public: bool
) -> list[NewEntry]:
    """The correction that lets a recording be heard outside, or keeps it; nothing when it is so.

    Raises
    ------
    InputError
        There is no such recording, or it is one of a voice.
    """
    one = state.recordings.get(recording)
    if one is None or one.sound not in HEARD:
        raise InputError(
            "no such recording, or one of a voice",
            received=recording,
            remedy="Notes and controls may be heard outside, once someone listened to them whole.",
        )
    if one.public == public or stamp.id in state.entered:
        return []
    replacement = {**body_data(one), "public": public}
    if not public:
        del replacement["public"]
    body = {
        "id": stamp.id,
        "corrects": recording,
        "reason": "it may be heard outside" if public else "it stays with the shop",
        "replacement": replacement,
        **stamp.late,
    }
    return [NewEntry("correction", body)]
