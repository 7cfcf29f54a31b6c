"""What is read when an instrument is set up, and with which tool: steps and uncertainties.

Each measure carries the quantity and place by which `heelstamp.casework.setup.records` knows it, so
that what is entered here is what the setup's plan reads. Tools: the step is the one the tool is
read in, in mm and in the inches of the trade; the standard uncertainty is common practice, no
source, but for the rule, whose limits of half a step are taken as a rectangle (JCGM 100:2008,
4.3.7).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import msgspec

from heelstamp.casework.setup.records import SetupRecord
from heelstamp.catalogue import DossierState, Measurement, PartsTree, Place, ordinal, quantity_words
from heelstamp.catalogue.bodies import quantities as q
from heelstamp.catalogue.entries import Stage
from heelstamp.errors import InputError
from heelstamp.mechanics import Estimate

RULE_STEP_MM = 0.5
COLUMNS: Mapping[str, tuple[str, Stage, Mapping[str, str]]] = {
    "found": ("Before", "found", {}),
    "new": ("New strings", "plan", {"strings": "new"}),
    "aim": ("Aim", "plan", {"role": "intended"}),
    "final": ("After", "final", {}),
}
"""Column: its heading, the stage of its entries, and the fields they have besides."""
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
    quantity, at, down
        Of its entries: what is read, where, and how far the strings are tuned down.
    part, unit
        As entered.
    tools
        That serve, the usual first.
    low, high
        Beyond which a reading is a stamp.
    columns
        In which it is read.
    subject, wanted
        How the setup's record knows it; an empty subject is looked up by quantity and place.
    sheet
        Name of its row on the setup sheet.
    usual
        Name of its row among the usual ranges.
    """

    key: str
    label: str
    group: str
    quantity: str
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
    at: Mapping[str, int | str] = field(default_factory=dict)
    down: float = 0.0

    def fields(self, column: str) -> dict[str, Any]:
        """Lay out what an entry in a column says besides its value: quantity, place, condition."""
        _, stage, more = COLUMNS[column]
        told = {"quantity": self.quantity, "part": self.part, "unit": self.unit, "stage": stage}
        place = {"at": dict(self.at)} if self.at else {}
        return told | place | ({"down": self.down} if self.down else {}) | dict(more)

    def words(self, column: str) -> str:
        """Say what is read in a column."""
        body = {"id": "reading", "value": 0.0, **self.fields(column)}
        return quantity_words(msgspec.convert(body, Measurement))


def measures_of(tree: PartsTree, record: SetupRecord) -> tuple[Measure, ...]:
    """What is read of this instrument, in the order of the work."""
    strings = string_count(tree)
    return (
        *_neck(record),
        *_strings_and_weight(strings),
        *_intonation(strings),
        *_nut(strings),
        *_geometry(),
    )


def string_count(tree: PartsTree) -> int:
    """The number of strings: that of the tuners of the parts tree."""
    return max(1, sum(key.startswith("tuner_") for key in tree.keys))


def measure_named(measures: tuple[Measure, ...], key: str) -> Measure:
    """A measure by its key.

    Raises
    ------
    InputError
        There is none.
    """
    for one in measures:
        if one.key == key:
            return one
    raise InputError("nothing to read by that name", received=key, remedy="Choose one on Tune.")


def _neck(record: SetupRecord) -> tuple[Measure, ...]:
    read = record.last("relief", role="read", down=0.0)
    fret = read.fret if read and read.fret else 8
    capo = read.capo if read and read.capo else 1
    place = {"fret": fret, "capo": capo}
    tools, heights = ("feelers", "gauge"), ("gauge", "rule")
    return (
        Measure(
            "relief",
            "Relief",
            "Neck and action",
            q.RELIEF,
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
            at=place,
        ),
        Measure(
            "relief-down",
            "Relief, tuned down a tone",
            "Neck and action",
            q.RELIEF,
            "neck",
            "mm",
            tools,
            -2.0,
            5.0,
            ("found",),
            "relief",
            (("down", 2.0),),
            at=place,
            down=2.0,
        ),
        *(
            Measure(
                f"action-{side}",
                f"Action at 12, {side}",
                "Neck and action",
                q.ACTION,
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
                at={"fret": 12, "side": side},
            )
            for side in ("treble", "bass")
        ),
        *(
            Measure(
                f"saddle-{side}",
                f"Saddle lowered, {side}",
                "Neck and action",
                q.SADDLE_LOWERED,
                "saddles",
                "mm",
                ("thread",),
                -10.0,
                10.0,
                ("final",),
                "saddle",
                (("side", side),),
                f"saddle moved, {side}",
                at={"side": side},
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
            q.WEIGHT,
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
                q.STRING_DIAMETER,
                "strings",
                "mm",
                ("micrometer",),
                0.1,
                5.0,
                at={"string": n},
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
                q.INTONATION,
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
                at={"fret": 12, "string": n},
            )
            for n in range(1, count + 1)
        ),
        Measure(
            "cents-worst",
            "Octave, worst string",
            "Intonation",
            q.WORST_INTONATION,
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
            q.NUT_CLEARANCE,
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
            at={"held": 3, "string": n},
        )
        for n in range(1, count + 1)
    )


def _geometry() -> tuple[Measure, ...]:
    told = (
        ("scale", "Scale length", q.SCALE_LENGTH, "neck", "mm", "long rule", 300.0, 1200.0),
        ("frets", "Number of frets", q.FRETS, "frets", "1", "count", 12.0, 36.0),
        ("joint", "Fret at the joint", q.JOINT_FRET, "neck", "1", "count", 5.0, 30.0),
        ("shim", "Thickness of the shim", q.SHIM, "shim", "mm", "micrometer", 0.0, 5.0),
        ("pocket", "Length of the pocket", q.POCKET, "body", "mm", "calliper", 10.0, 200.0),
        ("rod drive", "Rod, across flats", q.ROD_DRIVE, "rod", "mm", "calliper", 1.0, 20.0),
        ("rod key", "Key, across flats", q.ROD_KEY, "rod", "mm", "calliper", 1.0, 20.0),
        ("rod slot", "Rod, width of its slot", q.ROD_SLOT, "rod", "mm", "calliper", 0.3, 6.0),
        ("rod blade", "Blade, thickness", q.ROD_BLADE, "rod", "mm", "calliper", 0.3, 6.0),
    )
    return tuple(
        Measure(
            subject.replace(" ", "-"),
            label,
            "Once, before the plan",
            quantity,
            part,
            unit,
            (tool,),
            low,
            high,
            ("found",),
            subject,
        )
        for subject, label, quantity, part, unit, tool, low, high in told
    )


def entered_value(
    state: DossierState, record: SetupRecord, measure: Measure, column: str
) -> tuple[Estimate, str] | None:
    """The latest reading of a measure in a column with the id of its entry, or None."""
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
    place = Place(**measure.at)  # type: ignore[arg-type]
    named = [
        one
        for one in state.measurements.values()
        if (one.quantity, one.place) == (measure.quantity, place)
        and (one.stage, one.unit) == (stage, measure.unit)
    ]
    if not named:
        return None
    last = named[-1]
    return Estimate.of(last.value, last.uncertainty, last.id), last.id
