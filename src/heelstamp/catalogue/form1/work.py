"""Treatments and recordings of form 1: lamp times, turns of the rod, what a recording is of."""

from __future__ import annotations

import re
from datetime import UTC
from typing import Any

from heelstamp.catalogue.bodies.base import parse_time
from heelstamp.catalogue.bodies.work import ACTS, Treatment
from heelstamp.catalogue.form1.words import NotConvertedError, noted
from heelstamp.catalogue.labels import VOICE_NOTE, amount_words
from heelstamp.errors import InputError

Plain = dict[str, Any]
LAMP = "UV-A lamp"
_ON = re.compile(r"lamp on since (\S+)")
_FROM_TO = re.compile(r"lamp on from (\S+) to (\S+)")
_FELT = re.compile(r"(?:(.*); )?felt: (.+)")
_ADJUSTED = (
    ("rod", r"turn|adjust|tighten|slacken", "adjust"),
    ("saddles", r"lower|raise|move|adjust", "adjust"),
    ("strings", r"\b(?:fit|change|new)\b", "fit"),
)
_TURN = re.compile(r"(\d+)\s*/\s*(\d+)|(\d*\.?\d+)")
_NOTE = re.compile(r"note(?: ([A-G]#?-?\d))?, (\d+)(?:st|nd|rd|th) string, (open|at the 12th fret)")
_CONTROLS = ("pot_volume", "pot_tone", "switch")
_SPOKEN_ON = re.compile(r"on ([a-z-]{1,20})")


def convert_treatment(written: Plain) -> tuple[str, Plain]:
    """Convert an act; a time under the lamp has a kind of its own."""
    if written["act"] == LAMP:
        return "exposure", _exposure(written)
    act = written["act"]
    kind = next(
        (
            kind
            for part, words, kind in _ADJUSTED
            if part == written["part"] and re.search(words, act.lower())
        ),
        ACTS.get(act),
    )
    body = {**written, "kind": kind} if kind is not None else dict(written)
    if written["part"] == "rod" and kind == "adjust":
        body |= _turned(written)
    return "treatment", body


def _exposure(written: Plain) -> Plain:
    body: Plain = {
        name: written[name] for name in ("id", "part", "reason", "made") if name in written
    }
    note, minutes = written.get("note", ""), written.get("minutes", 0.0)
    on, span = _ON.fullmatch(note), _FROM_TO.fullmatch(note)
    if on is not None and minutes == 0:
        return body | {"since": _utc(on[1])}
    if span is not None:
        return body | {"since": _utc(span[1]), "until": _utc(span[2]), "minutes": minutes}
    told = [
        f"{name}: {said if isinstance(said, str) else ', '.join(said)}"
        for name in ("material", "amount", "before", "after")
        if (said := written.get(name))
    ]
    return body | {"minutes": minutes, "note": noted(note, *told)}


def _utc(text: str) -> str:
    try:
        time = parse_time(text)
    except InputError:
        time = None
    if time is None or time.tzinfo is None:
        raise NotConvertedError(f"the lamp's time cannot be read: {text}")
    return time.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _turned(written: Plain) -> Plain:
    found: Plain = {}
    turns = _turns(written.get("amount", ""))
    if turns is not None:
        bare = {**written, "turns": turns, "amount": ""}
        bare.pop("made", None)
        words = amount_words(Treatment(**bare))
        said = written["amount"]
        found = {"turns": turns, "amount": ""}
        if words.casefold() != " ".join(said.split()).casefold():
            found["note"] = noted(written.get("note", ""), f"amount entered as: {said}")
    felt = _FELT.fullmatch(str(found.get("note", written.get("note", ""))))
    if felt is not None:
        found |= {"felt": felt[2], "note": felt[1] or ""}
    return found


def _turns(amount: str) -> float | None:
    words = amount.lower()
    match = _TURN.search(words)
    if match is None or (match[2] is not None and int(match[2]) == 0):
        return None
    size = float(match[3]) if match[3] else int(match[1]) / int(match[2])
    if not size:
        return None
    if "tight" in words:
        return size
    return -size if "slack" in words or "loose" in words else None


def convert_recording(written: Plain) -> tuple[str, Plain]:
    """Convert a recording; one whose words no part of form 1 read keeps them."""
    what = written["what"]
    if (note := _NOTE.fullmatch(what)) is not None:
        body = {**written, "sound": "note", "what": "", "string": int(note[2])}
        body |= {"fret": 0 if note[3] == "open" else 12, "note_name": note[1] or ""}
        return "recording", body
    if what == VOICE_NOTE:
        body = {**written, "sound": "voice", "what": ""}
        if (spoken := _SPOKEN_ON.fullmatch(written.get("note", ""))) is not None:
            body |= {"screen": spoken[1], "note": ""}
        return "recording", body
    take = "sweep" if "sweep" in what or "thrown" in what else "still" if "at rest" in what else ""
    if written.get("part") in _CONTROLS and take:
        return "recording", {**written, "sound": "control", "take": take}
    return "recording", written
