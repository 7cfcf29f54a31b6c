"""Words of condition: what each damage means, and the written scale of the six grades.

Meanings of damage: common practice of the trade, worded after National Services Te Paerangi,
*Condition reporting*, guide 26 (2010), where that guide has the word (from memory). The scale of
grades is this program's own; each aspect is graded apart, since a whole hides its worst part.
"""

from __future__ import annotations

from collections.abc import Mapping

MEANS: Mapping[str, str] = {
    "worn through": "finish gone to the wood by use, with a soft edge",
    "chip": "finish or wood gone in one place, with a sharp edge",
    "checking": "fine cracks of the finish, most from cold",
    "scratch": "a line cut by something that slid",
    "ding": "a dent by a blow, finish still on it",
    "crack": "wood or plastic parted, not through",
    "split": "wood or plastic parted, through",
    "repair": "something was mended here",
    "corrosion": "rust, green or white growth on metal",
    "plating loss": "plating gone, other metal seen",
    "stain": "a change of colour by something that lay or ran there",
    "fade": "colour lost to light",
    "shrinkage": "plastic or binding smaller than its place",
    "off-gassing": "plastic that smells sharp, sweats or greens metal near it",
    "missing": "something is not there",
}
"""Damage, in the order in which it is offered, and what is meant by it."""

USUAL: Mapping[str, str] = {
    "worn through": "finish",
    "chip": "finish",
    "checking": "finish",
    "scratch": "finish",
    "ding": "wood",
    "crack": "wood",
    "split": "structural",
    "repair": "structural",
    "corrosion": "metal",
    "plating loss": "metal",
    "stain": "finish",
    "fade": "finish",
    "shrinkage": "plastic",
    "off-gassing": "plastic",
    "missing": "plastic",
}
"""What each damage mostly is of, where the examiner does not say otherwise."""

CAUTIONS: Mapping[str, str] = {
    "off-gassing": "Decaying celluloid gives off acid vapour and burns fast: bag it apart, "
    "ventilated, away from heat; do not breathe it in. Local codes and licensed practice come "
    "first.",
    "corrosion": "Dust of corroded metal and of old cases: gloves, and no dry brushing towards the "
    "face.",
    "split": "A split under string tension can run: slacken before it is touched.",
    "crack": "A crack under string tension can run: slacken before it is touched.",
}
"""What can hurt, beside the damage."""

LETTERS = ("A", "B", "C", "D", "E")

SCALE: Mapping[str, Mapping[str, str]] = {
    "structural": {
        "A": "no crack, split, twist or repair",
        "B": "small old repair or filled hole, sound, hidden in use",
        "C": "visible sound repair, or a crack that does not move",
        "D": "repaired break of neck or headstock, or routing, sound",
        "E": "needs repair before it can be strung",
    },
    "finish": {
        "A": "no wear but light handling",
        "B": "light scratches and dings, nothing bare",
        "C": "checking, chips or small bare places",
        "D": "large bare places, or large touched up places",
        "E": "most of it gone, or flaking",
    },
    "electronics": {
        "A": "all works, quiet",
        "B": "works; a control rustles",
        "C": "works after cleaning; a joint redone",
        "D": "a part replaced, or an intermittent fault",
        "E": "does not work",
    },
    "hardware": {
        "A": "bright, complete, moves freely",
        "B": "light dulling",
        "C": "plating worn or light corrosion",
        "D": "heavy corrosion, or a part replaced",
        "E": "a part missing or broken",
    },
    "frets": {
        "A": "nearly full height, level",
        "B": "light grooves, plays clean",
        "C": "grooves; one dressing would do and leaves enough",
        "D": "low; a dressing would leave too little",
        "E": "cannot be played before new frets",
    },
    "case": {
        "A": "closes, clean, all latches",
        "B": "worn, all works",
        "C": "a latch or handle replaced, lining loose",
        "D": "torn, broken hinge",
        "E": "does not protect it",
    },
}
"""What each letter means, by aspect; A is best."""


def describe_letter(aspect: str, letter: str) -> str:
    """What a letter means for an aspect; nothing for the whole, which has no scale of its own."""
    return SCALE.get(aspect, {}).get(letter, "")
