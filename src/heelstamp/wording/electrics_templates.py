"""Sentences about pickups, pots and the noise of controls: layer, rule and text of each.

A part of the one table of sentences (``sentences.TEMPLATES``), kept in a file of its own. A value
beside a census is inside or outside the range seen; no sentence says that a pickup was wound again.
"""

from __future__ import annotations

from typing import Literal

Row = tuple[Literal["seen", "measured", "inferred", "opinion"], int, str]


def _seen(text: str) -> Row:
    return "seen", 1, text


def _measured(text: str) -> Row:
    return "measured", 1, text


def _inferred(text: str, rule: int = 2) -> Row:
    return "inferred", rule, text


ELECTRICS: dict[str, Row] = {
    "jack pot": _measured(
        "Volume pot, read at the jack with the {selection} on: {value}, {least} to {most} by "
        "the meter's accuracy alone."
    ),
    "jack pickup": _measured("The {selection}: {value}{temperature}{twenty}."),
    "jack wiring told": _inferred(
        "The readings fit the {wiring} ({told_by}). Of the two roots the larger is the pot: "
        "with the smaller as pot no place of the knob reads above the volume full. With the "
        "{other} the same readings would give a pot of {other_pot} and a pickup of "
        "{other_pickup}."
    ),
    "jack wiring open": _inferred(
        "The readings cannot tell how the volume is wired: {accounts}. One more reading at "
        "the jack, the volume at nothing, decides: none, or the greatest."
    ),
    "jack wiring none": _inferred(
        "The readings fit neither wiring: {accounts}. Another circuit, a leak or a worn track"
        " is open."
    ),
    "jack conditions": _inferred("This holds if {conditions}."),
    "jack pots differ": _inferred(
        "The pot comes out at {first} with the {first_selection} on and at {second} with the "
        "{second_selection} on: two pots, a leak, or a contact that jumps.",
        rule=10,
    ),
    "value in range seen": _inferred(
        "The {selection} is {place} the range seen{count}, {low} to {high} at 20 °C.{chance}"
    ),
    "turns": _inferred(
        "With {wire} and a mean turn of {turn} the {selection} has between {low} and {high} "
        "turns; neither wire nor turn was measured."
    ),
    "capacitor against mark": _measured(
        "Tone capacitor: {read} against a mark of {mark}, {share}; {standing} ±{tolerance}.{age}"
    ),
    "resonance": _inferred(
        "Loaded resonance of the {selection}: {frequency}, {height} above the plateau{assumed}."
    ),
    "no resonance": _inferred(
        "The {selection} loaded like this has no resonance: the response only falls."
    ),
    "electrics caution": ("opinion", 14, "{caution}"),
    "noise refused": _seen("Refused, because {found} ({code}). {remedy}"),
    "noise counted": _measured(
        "Take {take}: {count} in {turns} ({turns_from}), {per_turn} a turn (90 %: {low} to {high})."
    ),
    "noise turns unknown": _measured(
        "Take {take}: {count}; how often the control was turned cannot be heard: no rate."
    ),
    "noise no dead place": _inferred("Take {take}: no place without contact was heard."),
    "noise dead angle": _inferred(
        "Take {take}: contact is lost over {angle} of a turn on average, at an even speed."
    ),
    "noise level": _measured(
        "Take {take}: {level} above 2 kHz against the control at rest{loudest}."
    ),
    "noise bounces": _measured("Take {take}: {count}: {told}."),
    "noise weaker": _seen("Weaker, because {found} ({code}). {remedy}"),
    "noise change": _inferred(
        "From {before} to {after} events a turn: {change} (chance of a change so large "
        "without one {chance})."
    ),
    "noise bound": _inferred(
        "Accuracy was measured on simulated takes only; events less than 18 dB over the noise"
        " are counted in part."
    ),
}
