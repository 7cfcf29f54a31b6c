"""What an entry is of, in a few words for a reader: made from its fields, and never read back."""

from __future__ import annotations

from fractions import Fraction

from heelstamp.catalogue.bodies import quantities as q
from heelstamp.catalogue.bodies.measurement import Measurement
from heelstamp.catalogue.bodies.media import Recording
from heelstamp.catalogue.bodies.work import Treatment

VOICE_NOTE = "voice note"
_VOLUME = {"full": "volume full", "swept": "volume swept, greatest", "nothing": "volume at nothing"}
_TAKES = {"sweep": ", five sweeps", "still": " at rest"}
_FINEST_TURN = 64


def ordinal(number: int) -> str:
    """Write ``1st``, ``2nd``, ``3rd``, ``4th``."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number if number < 20 else number % 10, "th")
    return f"{number}{ending}"


def quantity_words(one: Measurement) -> str:
    """Write what was measured, where, and in which condition of the strings.

    Returns
    -------
    str
        Such as ``relief at the 8th fret, capo at the 1st, tuned down a tone``.
    """
    if one.quantity not in q.QUANTITIES:
        told = [one.quantity.replace("_", " ")]
    else:
        told = [_subject(one), *_place(one)]
    return ", ".join(word for word in (*told, *_condition(one)) if word)


def amount_words(done: Treatment) -> str:
    """Write how much was done: ``1/8 turn tighter`` of a rod, else the amount as it was entered."""
    if done.turns is None:
        return done.amount
    size = Fraction(abs(done.turns)).limit_denominator(_FINEST_TURN)
    return f"{size} turn {'tighter' if done.turns > 0 else 'slacker'}"


def sound_words(one: Recording, part_label: str = "") -> str:
    """Write what a recording is of.

    Parameters
    ----------
    part_label
        Name of its part for a reader; the part's key serves without it.
    """
    if one.what:
        return one.what
    if one.sound == "note":
        fret = "open" if one.fret == 0 else f"at the {ordinal(one.fret or 0)} fret"
        return f"note {one.note_name}".strip() + f", {ordinal(one.string or 1)} string, {fret}"
    if one.sound == "control":
        label = part_label or (one.part or "").replace("_", " ")
        swept = ", thrown five times" if one.part == "switch" else _TAKES["sweep"]
        return label + (swept if one.take == "sweep" else _TAKES["still"])
    return VOICE_NOTE


def _subject(one: Measurement) -> str:
    at = one.place
    if one.quantity == q.STRING_TENSION:
        which = " in all" if at.string is None else f", {ordinal(at.string)} string"
        return f"{one.quantity}{which}, {'new set' if one.strings == 'new' else 'set as found'}"
    if one.quantity == q.PITCH and one.heard is not None:
        heard = f", recording {one.heard.recordings[0]}" if one.heard.recordings else ""
        return f"{one.quantity} {one.heard.note}".strip() + heard
    more = ""
    if one.jack is not None:
        more = ", ".join(word for word in (one.jack.selector, _VOLUME[one.jack.volume]) if word)
    elif one.panel is not None:
        more = one.panel.channel
    elif one.quantity == q.STRING_DIAMETER and at.string is not None:
        more = ordinal(at.string)
    if more:
        return f"{one.quantity}, {more}"
    if at.fret is None:
        return one.quantity
    whole = one.quantity in (q.FRET_HEIGHT, q.FRET_PLACE)
    return (
        f"{one.quantity} {at.fret}" if whole else f"{one.quantity} at the {ordinal(at.fret)} fret"
    )


def _place(one: Measurement) -> list[str]:
    if one.quantity in (q.STRING_DIAMETER, q.STRING_TENSION):
        return []
    at = one.place
    told = [f"capo at the {ordinal(at.capo)}" if at.capo is not None else ""]
    if at.held is not None:
        told.append(f"held at the {ordinal(at.held)}")
    elif one.quantity == q.NUT_CLEARANCE:
        told.append("open")
    told.append(f"{ordinal(at.string)} string" if at.string is not None else "")
    told.append(at.side or "")
    return told


def _condition(one: Measurement) -> list[str]:
    told = [f"tuned down {_tones(one.down)}" if one.down else ""]
    if one.quantity != q.STRING_TENSION:
        told.append({"on": "", "off": "strings off", "new": "new strings"}[one.strings])
    if one.role != "read":
        told.append(one.role)
    elif one.strings == "new" and one.stage == "plan" and one.quantity != q.STRING_TENSION:
        told.append("rod not turned")
    return told


def _tones(semitones: float) -> str:
    return {1.0: "a semitone", 2.0: "a tone"}.get(semitones, f"{semitones:g} semitones")
