"""Pickups and controls from readings at the output jack, nothing de-soldered.

Start at ``jack`` (two readings, two unknowns) and ``circuit`` (what arrives at the amplifier).
"""

from heelstamp.electrics.capacitor import AgainstMark, against_mark
from heelstamp.electrics.circuit import Controls, Load, Pickup, level_db, response
from heelstamp.electrics.jack import CONDITIONS, JackResult, Wiring, solve
from heelstamp.electrics.meter import Accuracy, Reading, read_meter
from heelstamp.electrics.resonance import Circuit, Resonance, resonance
from heelstamp.electrics.seen import SeenRange, place_in
from heelstamp.electrics.temperature import AtTwenty, to_twenty
from heelstamp.electrics.winding import Range, turns

__all__ = [
    "CONDITIONS",
    "Accuracy",
    "AgainstMark",
    "AtTwenty",
    "Circuit",
    "Controls",
    "JackResult",
    "Load",
    "Pickup",
    "Range",
    "Reading",
    "Resonance",
    "SeenRange",
    "Wiring",
    "against_mark",
    "level_db",
    "place_in",
    "read_meter",
    "resonance",
    "response",
    "solve",
    "to_twenty",
    "turns",
]
