"""Heights of all frets in rows of numbers, one row a string: 63 readings without 63 questions.

A row is typed or spoken from the nut on, numbers apart by spaces, ``-`` for a fret not read; each
number becomes an entry of its own. What was read before stays: a row may be entered again later.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.setup.measures import TOOLS
from heelstamp.catalogue.bodies import quantities as q
from heelstamp.errors import InputError
from heelstamp.mechanics.fret_life import TALLEST_MM
from heelstamp.units import LengthUnit, read_length

SUBJECTS: Mapping[str, tuple[str, float]] = {
    q.CROWN_HEIGHT: ("crown above the wood", TALLEST_MM),
    q.CROWN_WIDTH: ("width of the crown", 4.0),
}
"""What may be read in rows: how it is asked for, and the most that it can be, mm."""
MOST_FRETS = 30
USUAL_FRETS = 22
"""Frets that are asked for where nobody counted them."""


def fret_entries(
    stamp: EntryStamp,
    rows: Mapping[int, str],
    *,
    quantity: str,
    tool: str,
    stage: str,
    unit: LengthUnit,
) -> list[NewEntry]:
    """Make an entry for each number of each row.

    Parameters
    ----------
    rows
        By number of the string under which it was read.

    Raises
    ------
    InputError
        A number that cannot be read or that no fret has, named by string and fret; nothing is
        entered then.
    """
    if quantity not in SUBJECTS:
        raise InputError("not read in rows", received=quantity, remedy=", ".join(SUBJECTS))
    if tool not in TOOLS:
        raise InputError("no such tool", received=tool, remedy=", ".join(TOOLS))
    found = []
    for string, row in rows.items():
        words = row.replace(";", " ").split()
        if len(words) > MOST_FRETS:
            raise InputError(
                "more numbers than frets",
                where=f"string {string}",
                received=len(words),
                remedy="One number a fret, from the nut on; - for one not read.",
            )
        for fret, word in enumerate(words, start=1):
            if word in ("-", "–"):
                continue
            where = f"string {string}, fret {fret}"
            body = {
                "id": stamp.second(f"{string}.{fret}"),
                "quantity": quantity,
                "part": "frets",
                "value": _read(word, unit, SUBJECTS[quantity][1], where),
                "unit": "mm",
                "stage": stage,
                "uncertainty": TOOLS[tool].uncertainty,
                "at": {"fret": fret, "string": string},
                "tool": TOOLS[tool].name,
            }
            found.append(NewEntry("measurement", body | stamp.late))
    if not found:
        raise InputError("no number in any row", remedy="Type the numbers from the nut on.")
    return found


def _read(word: str, unit: LengthUnit, most: float, where: str) -> float:
    value = read_length(word, unit, where=where).mm
    if not 0.0 < value <= most:
        raise InputError(
            "a size that no fret has",
            where=where,
            received=word,
            remedy=f"Between 0 and {most:g} mm, from the wood to the top.",
        )
    return round(value, 4)
