"""Touch: what was done to the instrument, entered only with evidence from before and after it.

Six kinds of act, each with the words that consents and treatments use; amounts and minutes as
presets, because a gloved hand does not type. Cautions stand where the act is chosen, from the
tables the program has (stop rules and the cautions of papers). An act that a recorded sign stops,
or that closes an opening while a screw is out, is refused. Presets: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import reader_words
from heelstamp.casework.inspections.stop_rules import Stopped, StopTable, stopped_acts
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.screws import closing_acts, refuse_loose
from heelstamp.catalogue import DossierState, PartsTree, quantity_words, sound_words
from heelstamp.catalogue.form1 import typed
from heelstamp.chronology import Chronology
from heelstamp.errors import ConflictError, InputError
from heelstamp.wording.banned import refuse_banned

KINDS: Mapping[str, str] = {
    "open": "Opened",
    "close": "Closed",
    "clean": "Cleaned",
    "adjust": "Adjusted",
    "fit": "Fitted",
    "mend": "Mended",
}
MATERIALS: Mapping[str, tuple[str, ...]] = {
    "open": ("none",),
    "close": ("none",),
    "clean": (
        "none",
        "air and soft brush",
        "dry cloth",
        "water",
        "contact cleaner, hydrocarbon solvent",
    ),
    "adjust": ("none", "oil or grease"),
    "fit": ("none", "strings"),
    "mend": ("none", "solder", "glue"),
}
REASONS: Mapping[str, tuple[str, ...]] = {
    "open": ("marks, joints and covered places", "to reach what lies behind"),
    "close": ("reassembly",),
    "clean": ("dust", "crackle", "grime that hides what is to be seen"),
    "adjust": ("relief", "action", "intonation"),
    "fit": ("worn out", "missing"),
    "mend": ("broken", "loose"),
}
AMOUNTS = ("none", "one drop", "0.1 ml", "damp cloth", "1/8 turn", "one set", "all screws")
MINUTES = (1, 5, 10, 15, 20, 30, 60)
PRESET_AMOUNT = "one drop"
OFFERED = 36
"""Pieces of evidence shown at once; the others stand behind them."""
_ACTS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "clean": (
        ("clean control", "pot_volume"),
        ("clean finish", "finish"),
        ("clean board", "neck"),
        ("clean hardware", "bridge"),
    ),
    "adjust": (
        ("turn rod", "rod"),
        ("set saddles", "saddles"),
        ("set pickup height", "pickup_neck"),
        ("set pickup height", "pickup"),
    ),
    "fit": (("fit strings", "strings"), ("fit part", "body"), ("fit a nut", "nut")),
    "mend": (
        ("open a solder joint", "leads"),
        ("dress frets", "frets"),
        ("replace frets", "frets"),
        ("remove overspray", "finish"),
        ("glue", "body"),
    ),
}


@dataclass(frozen=True, slots=True)
class Doing:
    """An act that may be chosen, the part it is usually done to, and its kind."""

    act: str
    part: str
    kind: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """Something entered that may stand for before or after: a frame, a value, an observation."""

    id: str
    words: str
    frame: str


def doings(tree: PartsTree, chronology: Chronology) -> tuple[Doing, ...]:
    """The acts of this kind of instrument, by kind."""
    found = []
    for opening in tree.openings:
        if not opening.act:
            continue
        part = opening.key if opening.key in tree else "body"
        found.append(Doing(opening.act, part, "open"))
        closing = closing_acts(opening.key, chronology)
        found += [Doing(act, part, "close") for act in closing if act != "fit strings"]
    for kind, rows in _ACTS.items():
        found += [Doing(act, part, kind) for act, part in rows if part in tree]
    return tuple(sorted(found, key=lambda one: list(KINDS).index(one.kind)))


def act_words(act: str, part: str) -> str:
    """Name an act and the label of its part, which an act that names it already does not repeat.

    Examples
    --------
    >>> act_words("refit neck", "neck"), act_words("clean finish", "pickguard")
    ('refit neck', 'clean finish, pickguard')
    """
    told = reader_words(act)
    named = f" {part.casefold()} " in f" {told.casefold()} "
    return told if named else f"{told}, {part}"


def stopped(state: DossierState, table: StopTable, act: str) -> Stopped | None:
    """The recorded sign that stops an act, if one does."""
    return stopped_acts(state, table).get(act)


def used_first(presets: Sequence[str], used: Sequence[str]) -> tuple[str, ...]:
    """What was chosen before, the last first, then the presets.

    Examples
    --------
    >>> used_first(("none", "water"), ("water", "", "saliva on a swab"))
    ('saliva on a swab', 'water', 'none')
    """
    return tuple(dict.fromkeys([*(one for one in reversed(used) if one), *presets]))


def evidence_near(state: DossierState, tree: PartsTree, part: str) -> tuple[Evidence, ...]:
    """Frames, values and recordings: those of *part* and its neighbours, then the newest."""
    near = _neighbours(tree, part)
    rows: list[tuple[bool, int, Evidence]] = []

    def row(id_: str, of: str | None, words: str, frame: str) -> None:
        rows.append((of not in near, -state.entered[id_].seq, Evidence(id_, words, frame)))

    for one in state.photographs.values():
        label = tree[one.part].label if one.part and one.part in tree else "frame"
        words = reader_words(one.slot) if one.slot else label
        row(one.id, one.part, words, one.id)
    for value in state.measurements.values():
        quantity = reader_words(quantity_words(value))
        row(value.id, value.part, f"{quantity}: {value.value:g} {value.unit}", "")
    for sound in state.recordings.values():
        if sound.sound == "voice":
            continue  # what somebody said is no evidence of an act
        label = tree[sound.part].label if sound.part and sound.part in tree else ""
        row(sound.id, sound.part, sound_words(sound, label), "")
    return tuple(one for *_, one in sorted(rows, key=lambda one: one[:2]))


def _neighbours(tree: PartsTree, part: str) -> frozenset[str]:
    """A part with what sits on it and what it sits on."""
    if part not in tree:
        return frozenset()
    above = tree.part(part).parent
    return frozenset({part, *(one.key for one in tree.children(part)), *([above] if above else [])})


def treat_entries(
    state: DossierState,
    stamp: EntryStamp,
    tree: PartsTree,
    chronology: Chronology,
    table: StopTable,
    *,
    told: Mapping[str, Any],
    before: Sequence[str],
    after: Sequence[str],
) -> list[NewEntry]:
    """The treatment to enter.

    Parameters
    ----------
    told
        Act, part, reason, material, amount, minutes, reversible, note.
    before, after
        Ids of evidence.

    Raises
    ------
    InputError
        Evidence is wanting, one piece stands on both sides, or words that no paper may carry.
    ConflictError
        A recorded sign stops the act, or a screw of the opening that it closes is out.
    """
    if stamp.id in state.entered:
        return []
    act = str(told["act"])
    for when, ids in (("before", before), ("after", after)):
        if not ids:
            raise InputError(
                f"no evidence from {when} the act",
                where=act,
                remedy=f"Pick a frame or a value from {when} it, or take one now.",
            )
    if both := sorted(set(before) & set(after)):
        raise InputError(
            "one piece of evidence cannot be from before and from after",
            where=act,
            received=", ".join(both),
            remedy="Take a frame of how it is now.",
        )
    if (sign := stopped(state, table, act)) is not None:
        raise ConflictError(
            f"not done, because {sign.rule.why}",
            where=f"{act}, {sign.observation}",
            received=act,
            remedy=f"To be said instead: “{sign.rule.instead}”",
        )
    refuse_loose(state, act, tree, chronology)
    for field in ("reason", "note", "material", "amount"):
        refuse_banned(str(told.get(field, "")), where=f"field {field}")
    body = {key: value for key, value in told.items() if value not in ("", "none", None)}
    body |= {"id": stamp.id, "before": list(before), "after": list(after)}
    read = typed("treatment", body)  # how far a rod was turned, as a person writes it
    return [NewEntry("treatment", {**(read[1] if read else body), **stamp.late})]
