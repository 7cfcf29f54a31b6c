"""Recordings as the bench makes them: plucked notes, controls turned and at rest, spoken notes.

A recording says what it is of: a note of a string with its fret, a control swept five times or at
rest. A spoken note is kept as it came, with the
screen and the part it was made on; nothing transcribes it, and no paper carries it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

from heelstamp.acoustics.notes import midi_of, name_of
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.setup.measures import string_count
from heelstamp.casework.setup.practice import STANDARD_TUNINGS
from heelstamp.catalogue import DossierState, PartsTree, Recording, ordinal
from heelstamp.catalogue.bodies.quantities import CRACKLE, INTONATION
from heelstamp.errors import InputError

VOICE_MOST_BYTES, VOICE_MOST_S = 10_000_000, 120.0
SCREEN_MOST = 40
FRETS: Mapping[int, str] = {0: "open", 12: "at the 12th fret"}
TAKES: Mapping[str, str] = {"sweep": "five sweeps", "still": "at rest"}
STAGES: Mapping[str, str] = {"found": "before", "plan": "new strings", "final": "after"}
TAKE_STAGES: Mapping[str, str] = {"found": "before", "final": "after"}
CONTROLS = ("pot_volume", "pot_tone", "switch")


@dataclass(frozen=True, slots=True)
class NoteTake:
    """A recorded note: its recording, the note's name or empty, string, fret and stage."""

    recording: Recording
    note: str
    string: int
    fret: int

    @property
    def words(self) -> str:
        """What was recorded, without the stage."""
        return f"{ordinal(self.string)} string {FRETS[self.fret]}"


@dataclass(frozen=True, slots=True)
class ControlTakes:
    """The takes of one control by stage: ``sweep`` and ``still``, the latest of each."""

    part: str
    label: str
    takes: Mapping[str, Mapping[str, Recording]]

    @property
    def stages(self) -> tuple[str, ...]:
        """Stages that have both takes, in order of time."""
        return tuple(s for s in TAKE_STAGES if set(TAKES) <= self.takes.get(s, {}).keys())


@dataclass(frozen=True, slots=True)
class Spoken:
    """A spoken note: recording, screen and part it was made on, when and by whom."""

    recording: Recording
    where: str
    at: str
    by: str


def note_of(kind: str, count: int, string: int, fret: int = 0) -> str:
    """The note of a string of the usual tuning at a fret, as ``E2``; empty when not known."""
    notes = STANDARD_TUNINGS.get((kind, count), ())
    if not 1 <= string <= len(notes):
        return ""
    return name_of(midi_of(notes[string - 1]) + fret)


def strings_of(state: DossierState, tree: PartsTree) -> tuple[tuple[int, str], ...]:
    """The strings with their notes in the usual tuning."""
    count = string_count(tree)
    return tuple((n, note_of(state.instrument.kind, count, n)) for n in range(1, count + 1))


def note_takes(state: DossierState) -> tuple[NoteTake, ...]:
    """The recorded notes, the newest first."""
    found = [
        NoteTake(one, one.note_name, one.string, one.fret)
        for one in state.recordings.values()
        if one.string is not None and one.fret is not None and one.fret in FRETS
    ]
    return tuple(reversed(found))


def note_pairs(takes: tuple[NoteTake, ...]) -> tuple[tuple[NoteTake, NoteTake], ...]:
    """The latest open note and 12th fret of each string and stage."""
    latest: dict[tuple[int, str, int], NoteTake] = {}
    for one in reversed(takes):
        latest[one.string, one.recording.stage, one.fret] = one
    pairs = [
        (one, latest[string, stage, 12])
        for (string, stage, fret), one in latest.items()
        if fret == 0 and (string, stage, 12) in latest
    ]
    return tuple(sorted(pairs, key=_by_string))


def control_takes(state: DossierState, tree: PartsTree) -> tuple[ControlTakes, ...]:
    """The controls of this instrument with their takes."""
    found = []
    for part in CONTROLS:
        if part not in tree:
            continue
        takes: dict[str, dict[str, Recording]] = {}
        for one in state.recordings.values():
            if one.part == part and one.take is not None:
                takes.setdefault(one.stage, {})[one.take] = one
        found.append(ControlTakes(part, tree[part].label, takes))
    return tuple(found)


def spoken(state: DossierState, screens: Mapping[str, str], tree: PartsTree) -> tuple[Spoken, ...]:
    """The spoken notes, the newest first.

    Parameters
    ----------
    screens
        Names of the screens by key.
    """
    found = []
    for one in state.recordings.values():
        if one.sound != "voice":
            continue
        part = tree[one.part].label if one.part and one.part in tree else ""
        where = ", ".join(word for word in (screens.get(one.screen, ""), part) if word)
        entered = state.entered[one.id]
        found.append(Spoken(one, where, entered.at, entered.by))
    return tuple(reversed(found))


def note_details(
    state: DossierState,
    tree: PartsTree,
    stamp: EntryStamp,
    *,
    name: str,
    string: int,
    fret: int,
    stage: str,
    note: str,
) -> dict[str, Any]:
    """What is said of a recorded note.

    Parameters
    ----------
    note
        Its name, where the tuning is not the usual one; empty takes the usual tuning's.

    Raises
    ------
    InputError
        No such string, fret or stage, or a name that is no note's.
    """
    count = string_count(tree)
    if not 1 <= string <= count or fret not in FRETS or stage not in STAGES:
        raise InputError(
            "no such note",
            received=f"string {string}, fret {fret}, {stage}",
            remedy=f"Strings 1 to {count}, open or at the 12th fret.",
        )
    told = name_of(midi_of(note)) if note.strip() else ""
    told = told or note_of(state.instrument.kind, count, string, fret)
    details = _details(stamp, name=name, sound="note", part="strings", stage=stage)
    return details | {"string": string, "fret": fret, "note_name": told}


def take_details(
    tree: PartsTree, stamp: EntryStamp, *, name: str, part: str, take: str, stage: str
) -> dict[str, Any]:
    """What is said of a take of a control.

    Raises
    ------
    InputError
        No such control, take or stage.
    """
    if part not in CONTROLS or part not in tree or take not in TAKES or stage not in TAKE_STAGES:
        raise InputError(
            "no such take",
            received=f"{part}, {take}, {stage}",
            remedy="A control of this instrument, swept or at rest, before or after.",
        )
    details = _details(stamp, name=name, sound="control", part=part, stage=stage)
    return details | {"take": take}


def voice_details(
    tree: PartsTree, stamp: EntryStamp, *, name: str, screen: str, part: str
) -> dict[str, Any]:
    """What is said of a spoken note; an unknown part is left out."""
    told = _details(
        stamp, name=name, sound="voice", part=part if part in tree else "", stage="found"
    )
    return told | {"screen": screen if screen.isprintable() and len(screen) <= SCREEN_MOST else ""}


def crackle_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    part: str,
    stage: str,
    per_turn: float | None,
    interval: list[float] | None,
    rests_on: Sequence[str],
    digest: str,
) -> list[NewEntry]:
    """The count of events a turn to enter, with half of its 90 % interval over 1.645.

    Raises
    ------
    InputError
        The takes gave no count.
    """
    if stamp.id in state.entered:
        return []
    if per_turn is None or interval is None:
        raise InputError(
            "no count to enter", where=part, remedy="Record five sweeps whose turns can be heard."
        )
    body = {
        "id": stamp.id,
        "quantity": CRACKLE,
        "part": part,
        "value": round(per_turn, 3),
        "unit": "1/turn",
        "stage": stage,
        "uncertainty": round((interval[1] - interval[0]) / 2.0 / 1.645, 3),
        "heard": {"recordings": list(rests_on), "finding": digest},
        **stamp.late,
    }
    return [NewEntry("measurement", body)]


def intonation_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    string: int,
    stage: str,
    cents: float,
    uncertainty: float,
    rests_on: tuple[str, str],
) -> list[NewEntry]:
    """The intonation of a string to enter, from its two recorded notes."""
    if stamp.id in state.entered:
        return []
    body = {
        "id": stamp.id,
        "quantity": INTONATION,
        "at": {"fret": 12, "string": string},
        "strings": "new" if stage == "plan" else "on",
        "part": "saddles",
        "value": round(cents, 3),
        "unit": "cent",
        "stage": stage,
        "uncertainty": round(uncertainty, 3),
        "heard": {"recordings": list(rests_on)},
        **stamp.late,
    }
    return [NewEntry("measurement", body)]


def scientific(value: float | None) -> str:
    """Write a small number as ``4.00·10⁻⁵``; empty without one."""
    if value is None:
        return ""
    digits, _, power = f"{value:.2e}".partition("e")
    raised = str(int(power)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{digits}·10{raised}"


def cents_words(cents: float | None, interval: Sequence[float] | None) -> str:
    """Write an interval as ``+5.12 ± 0.02 cents``, the reach of 90 %; empty without one."""
    if cents is None or interval is None:
        return ""
    half = (interval[1] - interval[0]) / 2.0
    return f"{cents:+.2f} ± {max(half, 0.01):.2f} cents".replace("-", "\u2212")


def following(take: NoteTake, count: int) -> tuple[int, int]:
    """String and fret of the note recorded next: the octave, then the next string."""
    if take.fret == 0:
        return take.string, 12
    return (take.string % count) + 1, 0


def plain_name(name: str, usual: str) -> str:
    """A file's name without its folder and without what cannot be printed."""
    plain = PurePath(name.replace("\\", "/")).name.strip()
    return "".join(char for char in plain if char.isprintable())[-100:] or usual


def _details(stamp: EntryStamp, *, name: str, sound: str, part: str, stage: str) -> dict[str, Any]:
    told: dict[str, Any] = {
        "id": stamp.id,
        "name": plain_name(name, "recording"),
        "sound": sound,
        "stage": stage,
        **stamp.late,
    }
    if part:
        told["part"] = part
    return told


def _by_string(pair: tuple[NoteTake, NoteTake]) -> tuple[int, int]:
    return pair[0].string, list(STAGES).index(pair[0].recording.stage)
