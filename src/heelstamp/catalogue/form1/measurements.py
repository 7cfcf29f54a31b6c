"""Measurements of form 1: the words of the quantity taken apart, as form 1 read them back."""

from __future__ import annotations

import re
from typing import Any

import msgspec

from heelstamp.catalogue.bodies import quantities as q
from heelstamp.catalogue.bodies.measurement import Measurement
from heelstamp.catalogue.form1.words import noted
from heelstamp.catalogue.labels import quantity_words
from heelstamp.errors import HeelstampError
from heelstamp.units import Quantity

Plain = dict[str, Any]

# beginning of the words: today's quantity
_SUBJECTS: tuple[tuple[str, str], ...] = (
    (r"relief\b", q.RELIEF),
    (r"action\b", q.ACTION),
    (r"scale length\b", q.SCALE_LENGTH),
    (r"number of frets\b", q.FRETS),
    (r"fret at the joint\b", q.JOINT_FRET),
    (r"thickness of the shim\b", q.SHIM),
    (r"length of the pocket\b", q.POCKET),
    (r"intonation\b", q.INTONATION),
    (r"worst intonation error\b", q.WORST_INTONATION),
    (r"height of fret \d+\b", q.FRET_HEIGHT),
    (r"place of fret \d+\b", q.FRET_PLACE),
    (r"clearance over the 1st fret\b", q.NUT_CLEARANCE),
    (r"saddle lowered\b", q.SADDLE_LOWERED),
    (r"saddle raised\b", q.SADDLE_RAISED),
    (r"string tension\b", q.STRING_TENSION),
    (r"string diameter, \d+(?:st|nd|rd|th)$", q.STRING_DIAMETER),
    (r"temperature inside the case\b", q.CASE_TEMPERATURE),
    (r"temperature of the room\b", q.ROOM_TEMPERATURE),
    (r"relative humidity of the room\b", q.HUMIDITY),
    (r"weight without case\b", q.WEIGHT),
    (r"across flats of the rod\b", q.ROD_DRIVE),
    (r"across flats of the key\b", q.ROD_KEY),
    (r"crackle events per turn$", q.CRACKLE),
)
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5}
_DOWN = re.compile(r"tuned down (a|\d+|two|three|four|five) (tone|semitone)s?")
_ORDINAL = r"(\d+)(?:st|nd|rd|th)"
_PANEL = re.compile(r"panel glow, (red|green|blue)")
_PANEL_NOTE = re.compile(r"settings: (?P<settings>.*); stray light (?P<stray>taken away|unknown)")
_PITCH = re.compile(r"pitch ([A-G]#?-?\d), recording (\S+)")
_FINDING = re.compile(r"Finding ([0-9a-f]{12})\.$")
_PAIR = re.compile(r"from the recordings (\S+) and (\S+)")
_JACK_PLACES = {"volume full": "full", "volume swept": "swept", "volume at nothing": "nothing"}


def convert_measurement(written: Plain) -> tuple[str, Plain]:
    """Convert a measurement; one whose words no part of form 1 read keeps them as its quantity."""
    asked, stood = written["quantity"], written["unit"]
    for convert in (_irradiance, _panel, _pitch, _jack, _setup):
        found = convert(written)
        if found is None:
            continue
        unit = q.QUANTITIES[found["quantity"]].unit
        if _kind(stood) != _kind(unit):
            continue  # a quantity of another kind that happens to begin alike
        body = {**written, **found}
        return "measurement", _keeping_words(body, asked)
    return "measurement", written


def _keeping_words(body: Plain, asked: str) -> Plain:
    """Keep in the note what the words said beyond the fields."""
    words = quantity_words(msgspec.convert(body, Measurement))
    if " ".join(asked.split()).casefold() in (words.casefold(), body["quantity"].casefold()):
        return body
    return {**body, "note": noted(body.get("note", ""), f"entered as: {asked}")}


def _kind(unit: str) -> str:
    try:
        return Quantity(0.0, unit).kind
    except HeelstampError:
        return ""


def _irradiance(written: Plain) -> Plain | None:
    return {"quantity": q.IRRADIANCE} if written["quantity"] == q.IRRADIANCE else None


def _panel(written: Plain) -> Plain | None:
    channel = _PANEL.fullmatch(written["quantity"])
    noted_ = _PANEL_NOTE.fullmatch(written.get("note", ""))
    if channel is None or noted_ is None:
        return None
    shot = {"channel": channel[1], "settings": noted_["settings"], "stray_light": noted_["stray"]}
    return {"quantity": q.PANEL_GLOW, "panel": shot, "note": ""}


def _pitch(written: Plain) -> Plain | None:
    found = _PITCH.fullmatch(written["quantity"])
    if found is None:
        return None
    heard: Plain = {"recordings": [found[2]], "note": found[1]}
    if (digest := _FINDING.search(written.get("note", ""))) is not None:
        heard["finding"] = digest[1]
    return {"quantity": q.PITCH, "heard": heard}


def _jack(written: Plain) -> Plain | None:
    words = [word.strip() for word in written["quantity"].split(",")]
    volume = next((_JACK_PLACES[word] for word in words if word in _JACK_PLACES), None)
    if words[0] != q.JACK_RESISTANCE or volume is None:
        return None
    jack = {"volume": volume}
    selector = next((w for w in words[1:] if w.endswith(("pickup", "pickups"))), "")
    if selector:
        jack["selector"] = selector
    return {"quantity": q.JACK_RESISTANCE, "jack": jack}


def _setup(written: Plain) -> Plain | None:
    words = " ".join(written["quantity"].lower().split())
    quantity = next((name for start, name in _SUBJECTS if re.match(start, words)), None)
    if quantity is None:
        return None
    row = q.QUANTITIES[quantity]
    place = {name: one for name, one in _place(words, quantity).items() if name in row.place}
    found: Plain = {"quantity": quantity}
    if place:
        found["at"] = place
    if "strings off" in words:
        found["strings"] = "off"
    elif "new strings" in words or (quantity == q.STRING_TENSION and "new set" in words):
        found["strings"] = "new"
    if q.DOWN in row.fields and "strings off" not in words and (down := _down(words)):
        found["down"] = down
    if "predicted" in words:
        found["role"] = "predicted"
    elif "intended" in words:
        found["role"] = "intended"
    pair = _PAIR.fullmatch(written.get("note", ""))
    if quantity == q.INTONATION and pair is not None:
        found |= {"heard": {"recordings": [pair[1], pair[2]]}, "note": ""}
    if quantity == q.CRACKLE and (digest := _FINDING.search(written.get("note", ""))):
        found["heard"] = {"finding": digest[1]}
    return found


def _place(words: str, quantity: str) -> Plain:
    string = (
        rf"string diameter, {_ORDINAL}" if quantity == q.STRING_DIAMETER else rf"{_ORDINAL} string"
    )
    found: Plain = {
        "fret": _number(rf"at the {_ORDINAL} fret|of fret (\d+)", words),
        "capo": _number(rf"capo at the {_ORDINAL}", words),
        "held": _number(rf"held at the {_ORDINAL}", words),
        "string": _number(string, words),
        "side": "treble" if "treble" in words else "bass" if "bass" in words else None,
    }
    return {name: one for name, one in found.items() if one is not None}


def _number(pattern: str, words: str) -> int | None:
    match = re.search(pattern, words)
    return next((int(one) for one in match.groups() if one), None) if match else None


def _down(words: str) -> float:
    match = _DOWN.search(words)
    if match is None:
        return 0.0
    count = 1 if match[1] == "a" else _NUMBERS.get(match[1]) or int(match[1])
    return float(count * (2 if match[2] == "tone" else 1))
