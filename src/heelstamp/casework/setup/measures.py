"""What is read when an instrument is set up, and with which tool: steps and uncertainties.

Each measure carries the words by which `heelstamp.casework.setup.records` knows it, so that what is
entered here is what the setup's plan reads. Tools: the step is the one the tool is read in, in mm
and in the inches of the trade; the standard uncertainty is common practice, no source, but for the
rule, whose limits of half a step are taken as a rectangle (JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from heelstamp.casework.setup.records import SetupRecord
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.errors import InputError
from heelstamp.mechanics import Estimate

RULE_STEP_MM = 0.5
COLUMNS: Mapping[str, tuple[str, str, str]] = {
    "found": ("Before", "found", ""),
    "new": ("New strings", "plan", ", new strings, rod not turned"),
    "aim": ("Aim", "plan", ", intended"),
    "final": ("After", "final", ""),
}
"""Column: its heading, the stage of its entries, and the words its quantities end in."""
ALL, ENDS = ("found", "new", "aim", "final"), ("found", "final")


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool: its name, standard uncertainty and step, and its step in inches as it is marked."""

    key: str
    name: str
    uncertainty: float
    step: float
    step_in: str = ""


TOOLS: Mapping[str, Tool] = {
    one.key: one
    for one in (
        Tool("feelers", "straightedge and feelers", 0.03, 0.05, "0.002"),
        Tool("gauge", "string height gauge", 0.05, 0.05, "0.002"),
        Tool("rule", "steel rule", RULE_STEP_MM / 2 / math.sqrt(3.0), 0.25, "1/64"),
        Tool("long rule", "long rule", 0.5, 0.5, "1/32"),
        Tool("micrometer", "micrometer", 0.01, 0.01, "0.0005"),
        Tool("calliper", "calliper", 0.02, 0.02, "0.001"),
        Tool("thread", "counted turns of the screw", 0.05, 0.05, "0.002"),
        Tool("tuner", "tuner", 1.0, 1.0),
        Tool("scale", "bench scale", 2.0, 1.0),
        Tool("count", "counted", 0.0, 1.0),
    )
}


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing to read.

    Attributes
    ----------
    key
        Names it in addresses.
    label, group
        What the bench calls it, and under which heading it stands.
    words
        Quantity of its entries, before what the column adds.
    part, unit
        As entered.
    tools
        That serve, the usual first.
    low, high
        Beyond which a reading is a slip.
    columns
        In which it is read.
    subject, wanted
        How the setup's record knows it; an empty subject is looked up by its words.
    sheet
        Name of its row on the setup sheet.
    usual
        Name of its row among the usual ranges.
    """

    key: str
    label: str
    group: str
    words: str
    part: str
    unit: str
    tools: tuple[str, ...]
    low: float
    high: float
    columns: tuple[str, ...] = ENDS
    subject: str = ""
    wanted: tuple[tuple[str, object], ...] = ()
    sheet: str = ""
    usual: str = ""

    def quantity(self, column: str) -> str:
        """Give the quantity of an entry in a column."""
        return self.words + COLUMNS[column][2]


def measures_of(tree: PartsTree, record: SetupRecord) -> tuple[Measure, ...]:
    """Give what is read of this instrument, in the order of the work."""
    strings = string_count(tree)
    return (
        *_neck(record),
        *_strings_and_weight(strings),
        *_intonation(strings),
        *_nut(strings),
        *_geometry(),
    )


def string_count(tree: PartsTree) -> int:
    """Give the number of strings: that of the tuners of the parts tree."""
    return max(1, sum(key.startswith("tuner_") for key in tree.keys))


def measure_named(measures: tuple[Measure, ...], key: str) -> Measure:
    """Give a measure by its key.

    Raises
    ------
    InputError
        There is none.
    """
    for one in measures:
        if one.key == key:
            return one
    raise InputError("nothing to read by that name", received=key, remedy="Choose one on Tune.")


def ordinal(number: int) -> str:
    """Write ``1st``, ``2nd``, ``3rd``, ``4th``."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number if number < 20 else number % 10, "th")
    return f"{number}{ending}"


def _neck(record: SetupRecord) -> tuple[Measure, ...]:
    read = record.last("relief", role="read", down=0.0)
    fret = read.fret if read and read.fret else 8
    capo = read.capo if read and read.capo else 1
    place = f"relief at the {ordinal(fret)} fret, capo at the {ordinal(capo)}"
    tools, heights = ("feelers", "gauge"), ("gauge", "rule")
    return (
        Measure(
            "relief",
            "Relief",
            "Neck and action",
            place,
            "neck",
            "mm",
            tools,
            -2.0,
            5.0,
            ALL,
            "relief",
            (("down", 0.0),),
            "relief",
            "relief",
        ),
        Measure(
            "relief-down",
            "Relief, tuned down a tone",
            "Neck and action",
            place + ", tuned down a tone",
            "neck",
            "mm",
            tools,
            -2.0,
            5.0,
            ("found",),
            "relief",
            (("down", 2.0),),
        ),
        *(
            Measure(
                f"action-{side}",
                f"Action at 12, {side}",
                "Neck and action",
                f"action at the 12th fret, {side}",
                "saddles",
                "mm",
                heights,
                0.0,
                15.0,
                ALL,
                "action",
                (("side", side),),
                f"action at 12, {side}",
                f"action {side}",
            )
            for side in ("treble", "bass")
        ),
        *(
            Measure(
                f"saddle-{side}",
                f"Saddle lowered, {side}",
                "Neck and action",
                f"saddle lowered, {side}",
                "saddles",
                "mm",
                ("thread",),
                -10.0,
                10.0,
                ("final",),
                "saddle",
                (("side", side),),
                f"saddle moved, {side}",
            )
            for side in ("treble", "bass")
        ),
    )


def _strings_and_weight(count: int) -> tuple[Measure, ...]:
    return (
        Measure(
            "weight",
            "Weight, no case",
            "Strings and weight",
            "weight without case",
            "body",
            "g",
            ("scale",),
            300.0,
            20_000.0,
            ENDS,
            "weight",
            (),
            "weight",
        ),
        *(
            Measure(
                f"gauge-{n}",
                f"Diameter, {ordinal(n)}",
                "Strings and weight",
                f"string diameter, {ordinal(n)}",
                "strings",
                "mm",
                ("micrometer",),
                0.1,
                5.0,
            )
            for n in range(1, count + 1)
        ),
    )


def _intonation(count: int) -> tuple[Measure, ...]:
    return (
        *(
            Measure(
                f"cents-{n}",
                f"Octave, {ordinal(n)} string",
                "Intonation",
                f"intonation at the 12th fret, {ordinal(n)} string",
                "saddles",
                "cent",
                ("tuner",),
                -100.0,
                100.0,
                ("found", "new", "final"),
                "intonation",
                (("string", n),),
                "",
                "intonation",
            )
            for n in range(1, count + 1)
        ),
        Measure(
            "cents-worst",
            "Octave, worst string",
            "Intonation",
            "worst intonation error",
            "saddles",
            "cent",
            ("tuner",),
            -100.0,
            100.0,
            ("new", "final"),
            "worst intonation",
            (),
            "worst intonation",
            "intonation",
        ),
    )


def _nut(count: int) -> tuple[Measure, ...]:
    return tuple(
        Measure(
            f"nut-{n}",
            f"Over fret 1, {ordinal(n)} string",
            "Nut, fret 3 held",
            f"clearance over the 1st fret, held at the 3rd, {ordinal(n)} string",
            "nut",
            "mm",
            ("feelers",),
            0.0,
            3.0,
            ("found",),
            "nut clearance",
            (("held", 3), ("string", n)),
            "",
            "nut clearance held at 3",
        )
        for n in range(1, count + 1)
    )


def _geometry() -> tuple[Measure, ...]:
    told = (
        ("scale", "Scale length", "scale length", "neck", "mm", "long rule", 300.0, 1200.0),
        ("frets", "Number of frets", "number of frets", "frets", "1", "count", 12.0, 36.0),
        ("joint", "Fret at the joint", "fret at the joint", "neck", "1", "count", 5.0, 30.0),
        (
            "shim",
            "Thickness of the shim",
            "thickness of the shim",
            "shim",
            "mm",
            "micrometer",
            0.0,
            5.0,
        ),
        (
            "pocket",
            "Length of the pocket",
            "length of the pocket",
            "body",
            "mm",
            "calliper",
            10.0,
            200.0,
        ),
        (
            "rod drive",
            "Rod, across flats",
            "across flats of the rod",
            "rod",
            "mm",
            "calliper",
            1.0,
            20.0,
        ),
        (
            "rod key",
            "Key, across flats",
            "across flats of the key",
            "rod",
            "mm",
            "calliper",
            1.0,
            20.0,
        ),
    )
    return tuple(
        Measure(
            subject.replace(" ", "-"),
            label,
            "Once, before the plan",
            words,
            part,
            unit,
            (tool,),
            low,
            high,
            ("found",),
            subject,
        )
        for subject, label, words, part, unit, tool, low, high in told
    )


def entered_value(
    state: DossierState, record: SetupRecord, measure: Measure, column: str
) -> tuple[Estimate, str] | None:
    """Give the latest reading of a measure in a column with the id of its entry, or None."""
    _, stage, _ = COLUMNS[column]
    if measure.subject:
        wanted = dict(measure.wanted) | {"stage": stage}
        wanted["role"] = "intended" if column == "aim" else "read"
        if column in ("found", "new") and measure.subject in ("relief", "action"):
            wanted["new_strings"] = column == "new"
        found = record.last(measure.subject, **wanted)
        if found is None:
            return None
        value = -found.value if measure.subject == "saddle" else found.value
        return value, found.id
    words = measure.quantity(column)
    named = [
        one
        for one in state.measurements.values()
        if one.quantity == words and one.stage == stage and one.unit == measure.unit
    ]
    if not named:
        return None
    last = named[-1]
    return Estimate.of(last.value, last.uncertainty, last.id), last.id
