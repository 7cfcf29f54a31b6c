"""Small records of a setup, and the demonstration's own, folded in memory."""

from __future__ import annotations

from typing import Any

from fakes.demo_dossier import guitar_tree
from heelstamp.catalogue import DossierState, Folding
from heelstamp.catalogue.form1 import typed
from heelstamp.reference.demonstration import demo_journal

INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
}


def demo_state() -> DossierState:
    """The demonstration's record as it stands at its end."""
    folding = Folding(guitar_tree())
    for entry in demo_journal():
        folding.add(entry["kind"], entry["body"], at=entry["at"], by=entry["by"], where="demo")
    return folding.state


def measured(
    id_: str, quantity: str, part: str, value: float, unit: str, **more: Any
) -> tuple[str, dict[str, Any]]:
    """One measurement in a person's words, as found and without uncertainty unless said."""
    body = {"id": id_, "quantity": quantity, "part": part, "value": value, "unit": unit}
    body |= {"stage": "found", **more}
    return typed("measurement", body) or ("measurement", body)


def treated(id_: str, act: str, part: str, **more: Any) -> tuple[str, dict[str, Any]]:
    """One treatment in a person's words."""
    body = {"id": id_, "act": act, "part": part, "reason": "setup", "reversible": True, **more}
    return typed("treatment", body) or ("treatment", body)


def folded(*entries: tuple[str, dict[str, Any]], kind: str = "guitar") -> DossierState:
    """A state of these entries."""
    folding = Folding(guitar_tree())
    folding.add("instrument", {**INSTRUMENT, "kind": kind}, where="record")
    for name, body in entries:
        folding.add(name, body, where="record")
    return folding.state


def neck_readings() -> tuple[tuple[str, dict[str, Any]], ...]:
    """Scale, frets, relief twice and action: what a plan needs."""
    return (
        measured("scale", "scale length", "neck", 641.4, "mm", uncertainty=0.5),
        measured("frets", "number of frets", "frets", 21, "1"),
        measured("joint", "fret at the joint", "neck", 16, "1"),
        measured(
            "relief",
            "relief at the 8th fret, capo at the 1st",
            "neck",
            0.46,
            "mm",
            uncertainty=0.03,
        ),
        measured(
            "down",
            "relief at the 8th fret, capo at the 1st, tuned down a tone",
            "neck",
            0.37,
            "mm",
            uncertainty=0.03,
        ),
        measured("a1", "action at the 12th fret, treble", "saddles", 2.3, "mm", uncertainty=0.05),
        measured("a2", "action at the 12th fret, bass", "saddles", 2.8, "mm", uncertainty=0.05),
    )
