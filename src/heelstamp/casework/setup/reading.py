"""A number that a wheel or a person wrote, read and made into a measurement.

Lengths are in the unit of the device and kept in mm; every other measure is in its own unit. What
was typed in inches is kept beside the value, as is the tool. Beyond what a measure can be a number
is refused: a stamp of the unit or of the point is found at once.
"""

from __future__ import annotations

import re

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.setup.measures import COLUMNS, TOOLS, Measure
from heelstamp.catalogue import DossierState
from heelstamp.errors import InputError
from heelstamp.units import LengthUnit, read_length


def reading_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    measure: Measure,
    column: str,
    text: str,
    tool: str,
    lengths: LengthUnit,
    note: str,
) -> list[NewEntry]:
    """The measurement to enter.

    Parameters
    ----------
    text
        The number as the wheel or a person wrote it, in the unit of the device.
    tool
        Key of the tool; the usual one when empty.

    Raises
    ------
    InputError
        No number, one beyond what the measure can be, another tool, or another column.
    """
    if stamp.id in state.entered:
        return []
    refuse_column(measure, column)
    chosen = tool or measure.tools[0]
    if chosen not in measure.tools:
        raise InputError(
            "not a tool for this",
            where=measure.label,
            received=tool,
            remedy=f"Use {', '.join(TOOLS[one].name for one in measure.tools)}.",
        )
    value, typed = read_value(text, measure, lengths)
    body = {
        "id": stamp.id,
        **measure.fields(column),
        "value": value,
        "uncertainty": round(TOOLS[chosen].uncertainty, 4),
        "tool": TOOLS[chosen].name,
        "typed": typed,
        "note": note.strip(),
        **stamp.late,
    }
    return [NewEntry("measurement", body)]


def read_value(text: str, measure: Measure, lengths: LengthUnit) -> tuple[float, str]:
    """Read a number in the unit of its measure, and how it was typed where that differs.

    Raises
    ------
    InputError
        No number, or one beyond what the measure can be.
    """
    if measure.unit == "mm":
        length = read_length(text, lengths, where=measure.label)
        value, typed = length.mm, length.typed
    else:
        value, typed = read_plain(text, where=measure.label), ""
    if not measure.low <= value <= measure.high:
        raise InputError(
            "beyond what this can be",
            where=measure.label,
            received=text,
            remedy=f"Between {measure.low:g} and {measure.high:g} {measure.unit}: look at the "
            "unit and the point.",
        )
    if measure.unit == "1" and value != round(value):
        raise InputError(
            "a count is a whole number", where=measure.label, received=text, remedy="Count again."
        )
    return value, typed


def read_plain(text: str, *, where: str) -> float:
    """Read a plain number with a point; a minus of either form.

    Raises
    ------
    InputError
        Another form.
    """
    plain = text.strip().replace("\u2212", "-")
    if re.fullmatch(r"[+-]?(?:\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})", plain, re.ASCII) is None:
        raise InputError(
            "not a number",
            where=where,
            received=text,
            remedy="Write digits with a point, as 3284 or -1.5.",
        )
    return float(plain)


def refuse_column(measure: Measure, column: str) -> None:
    """Refuse a column in which a measure is not read.

    Raises
    ------
    InputError
        Names those in which it is.
    """
    if column not in measure.columns:
        raise InputError(
            "not read at that stage",
            where=measure.label,
            received=column,
            remedy="One of " + ", ".join(COLUMNS[one][0].lower() for one in measure.columns) + ".",
        )
