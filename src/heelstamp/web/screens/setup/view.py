"""What Setup shows: before, plan and after side by side, and the next number to read.

A cell is a measure in a column; what is predicted stands between them and is never a preset,
because a number that is offered is easily agreed with: a wheel shows what was last *read* of the
measure, and nothing when nothing was. The plan is the sheet of `heelstamp.casework.setup`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.casework.setup.measures import (
    COLUMNS,
    TOOLS,
    Measure,
    Tool,
    entered_value,
    measures_of,
)
from heelstamp.casework.setup.practice import Bench, Usual
from heelstamp.casework.setup.reading import refuse_column
from heelstamp.casework.setup.records import SetupRecord, read_record
from heelstamp.casework.setup.sheet import SetupSheet, SheetRow
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.mechanics import Estimate
from heelstamp.units import LengthUnit, Quantity, show_length

_ON_THE_BENCH: tuple[tuple[str, str], ...] = (
    (
        r"Name it with --\w+, or write it in the material of the treatment \"[^\"]*\"\.",
        "Name it under Strings.",
    ),
    (r"give --frets and --joint, or add measurements of both", "read both, under Once"),
    (r"give --\w+, or add a plan measurement \"[^\"]*\"", "read it in the column Aim"),
)
"""What a plan says to a typist, as it is said beside the wheels."""
_FRACTION = re.compile(r"^(\d+)/(\d+)$")


@dataclass(frozen=True, slots=True)
class Cell:
    """One measure in one column: what was read, in words, and its entry; empty when not read."""

    column: str
    shown: str
    id: str


@dataclass(frozen=True, slots=True)
class Row:
    """One measure across the columns, what is predicted of it, and how it came out."""

    measure: Measure
    cells: tuple[Cell, ...]
    predicted: str
    verdict: str
    usual: str


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under one heading; *open* when something of it was read or it is what is read first."""

    title: str
    rows: tuple[Row, ...]
    columns: tuple[str, ...]
    read: int


@dataclass(frozen=True, slots=True)
class Taking:
    """The number to be read now.

    Attributes
    ----------
    preset
        What the wheel shows, in the unit *unit*: what was last read; empty when nothing was, so
        that no number is entered that nobody looked at.
    start
        Where the first turn of an empty wheel begins: the middle of the usual range.
    steps
        Tools with their step as the wheel turns it and their uncertainty in words, in that unit.
    standing
        What stands of it already, in words.
    """

    measure: Measure
    column: str
    unit: str
    preset: str
    start: str
    steps: tuple[tuple[Tool, str, str], ...]
    standing: str
    usual: Usual | None
    usual_words: str


def groups(
    state: DossierState,
    tree: PartsTree,
    sheet: SetupSheet | None,
    bench: Bench,
    lengths: LengthUnit,
) -> tuple[Group, ...]:
    """All rows by heading.

    Parameters
    ----------
    sheet
        The plan; None where it could not be made.
    """
    record = read_record(state)
    planned = {row.measure: row for row in sheet.rows} if sheet else {}
    found: dict[str, list[Row]] = {}
    for measure in measures_of(tree, record):
        row = _row(
            state, record, measure, planned=planned.get(measure.sheet), bench=bench, lengths=lengths
        )
        found.setdefault(measure.group, []).append(row)
    return tuple(
        Group(
            title,
            tuple(rows),
            tuple(c for c in COLUMNS if any(c in row.measure.columns for row in rows)),
            sum(bool(cell.shown) for row in rows for cell in row.cells),
        )
        for title, rows in found.items()
    )


def _row(
    state: DossierState,
    record: SetupRecord,
    measure: Measure,
    *,
    planned: SheetRow | None,
    bench: Bench,
    lengths: LengthUnit,
) -> Row:
    cells = []
    for column in measure.columns:
        entered = entered_value(state, record, measure, column)
        shown = "" if entered is None else show(entered[0], measure.unit, lengths)
        cells.append(Cell(column, shown, "" if entered is None else entered[1]))
    predicted = verdict = ""
    if planned is not None:
        value = planned.planned if measure.subject == "saddle" else planned.predicted
        if value is not None:
            value = -value if measure.subject == "saddle" else value
            predicted = show(value, measure.unit, lengths)
        told = []
        if planned.prediction_held is not None:
            told.append("as predicted" if planned.prediction_held else "not as predicted")
        if planned.agrees is not None:
            aim = "planned" if planned.planned is not None else "predicted"
            told.append(f"after: {'' if planned.agrees else 'not '}as {aim}")
        verdict = "; ".join(told)
    usual = bench.usual.get(measure.usual)
    return Row(measure, tuple(cells), predicted, verdict, usual_words(usual, lengths))


def show(value: Estimate, unit: str, lengths: LengthUnit) -> str:
    """Write a value with its standard uncertainty; a length in the unit of the device."""
    if unit == "mm":
        return show_length(value.value, value.uncertainty, lengths)
    return str(Quantity(value.value, unit, value.uncertainty))


def usual_words(usual: Usual | None, lengths: LengthUnit) -> str:
    """Write a usual range; empty where there is none."""
    if usual is None:
        return ""
    if usual.unit == "mm" and lengths == "in":
        low, high = (Quantity(one, "mm").to("in").value for one in (usual.low, usual.high))
        return f"{low:.3f} to {high:.3f} in"
    low_words, high_words = (f"{one:g}".replace("-", "\u2212") for one in (usual.low, usual.high))
    return f"{low_words} to {high_words} {usual.unit}"


def taking(
    state: DossierState, measure: Measure, column: str, bench: Bench, lengths: LengthUnit
) -> Taking:
    """What is read now, with the wheel's preset.

    Raises
    ------
    InputError
        The measure is not read in that column.
    """
    refuse_column(measure, column)
    record = read_record(state)
    unit = lengths if measure.unit == "mm" else measure.unit
    tools = tuple(TOOLS[key] for key in measure.tools)
    steps = tuple(
        (one, one.step_in if unit == "in" else f"{one.step:g}", _doubt(one, measure.unit, unit))
        for one in tools
    )
    standing = entered_value(state, record, measure, column)
    usual = bench.usual.get(measure.usual)
    middle = None if usual is None else (usual.low + usual.high) / 2.0
    preset, start = (
        _written(one, steps[0][1], measure.unit, unit)
        for one in (_last(state, record, measure, column), middle)
    )
    return Taking(
        measure,
        column,
        unit,
        preset,
        start,
        steps,
        "" if standing is None else show(standing[0], measure.unit, lengths),
        usual,
        usual_words(usual, lengths),
    )


def _doubt(tool: Tool, own: str, unit: str) -> str:
    """Write a tool's standard uncertainty to two digits at most; empty for what is counted."""
    if not tool.uncertainty:
        return ""
    doubt = Quantity(0.0, own, tool.uncertainty).to(unit).uncertainty
    return f"± {doubt:.2g} {unit}"


def _last(state: DossierState, record: SetupRecord, measure: Measure, column: str) -> float | None:
    order = {
        "final": ("final", "new", "found"),
        "new": ("new", "found"),
        "found": ("found",),
        "aim": ("aim",),
    }[column]
    for one in order:
        if one in measure.columns:
            entered = entered_value(state, record, measure, one)
            if entered is not None:
                return entered[0].value
    if measure.subject == "weight":  # the scale at the door was read too
        weighed = [one.weight_g for one in state.custody.values() if one.weight_g is not None]
        if weighed:
            return weighed[0] if column == "found" else weighed[-1]
    return None


def _written(start: float | None, step: str, own: str, unit: str) -> str:
    """Write a number on a step of the tool."""
    if start is None:
        return ""
    value = Quantity(start, own).to(unit).value if own != unit else start
    fraction = _FRACTION.match(step)
    if fraction:
        under = int(fraction[2])
        return f"{round(value * under)}/{under}"
    size = float(step)
    places = len(step.partition(".")[2])
    return f"{round(value / size) * size:.{places}f}"


def first_taking(rows: Sequence[Group]) -> tuple[str, str]:
    """What is read first: of the first group what is unread, column by column of the work."""
    order = ("found", "aim", "new", "final")
    for column in order:
        for row in rows[0].rows:
            if any(cell.column == column and not cell.shown for cell in row.cells):
                return row.measure.key, column
    return rows[0].rows[0].measure.key, order[0]


def after(rows: Sequence[Group], measure: Measure, column: str) -> tuple[str, str]:
    """What is read next: the next unread of its group in the column, else as at first."""
    group = next(one for one in rows if one.title == measure.group)
    keys = [row.measure.key for row in group.rows]
    for row in group.rows[keys.index(measure.key) + 1 :]:
        if any(cell.column == column and not cell.shown for cell in row.cells):
            return row.measure.key, column
    return first_taking(rows)


def on_the_bench(sentence: str) -> str:
    """Say what a plan withholds in the words of this screen."""
    for pattern, instead in _ON_THE_BENCH:
        sentence = re.sub(pattern, instead, sentence)
    return sentence
