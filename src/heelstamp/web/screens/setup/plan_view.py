"""The setup's plan as the bench tells it: each sentence where the hand acts on it.

Sentences, cautions and figures are those of `heelstamp.casework.setup`; here they are only sorted
to strings, rod, saddles and intonation, with inches behind millimetres where the device asks for
them, and the figures of the plots laid out as tables.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from heelstamp.casework.setup.contraindications import cautions
from heelstamp.casework.setup.describe import describe_plan
from heelstamp.casework.setup.plan import SIDES, SetupPlan
from heelstamp.casework.setup.sheet import SetupSheet
from heelstamp.casework.setup.sheet_values import action_states
from heelstamp.mechanics import Estimate
from heelstamp.mechanics.rod import CAUTION as ROD_CAUTION
from heelstamp.units import LengthUnit, with_inches
from heelstamp.web.screens.setup.view import on_the_bench, show


@dataclass(frozen=True, slots=True)
class PlotTable:
    """The figures of one plot: what it shows, heads of the columns, rows of words."""

    name: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class PlanWords:
    """The plan in sentences, by where they are acted on.

    Attributes
    ----------
    strings, rod, saddles, intonation, frets
        What to expect and to do there.
    strings_care, rod_care, care
        Cautions at strings, at the rod, and of all the rest.
    left_alone, faults, withheld, assumed, missing
        As the sheet has them; *missing* are acts without their evidence.
    digest
        Of the sheet; empty without one.
    """

    strings: tuple[str, ...]
    rod: tuple[str, ...]
    saddles: tuple[str, ...]
    intonation: tuple[str, ...]
    frets: tuple[str, ...]
    strings_care: tuple[str, ...]
    rod_care: str
    care: tuple[str, ...]
    left_alone: tuple[str, ...]
    faults: tuple[str, ...]
    withheld: tuple[str, ...]
    assumed: tuple[str, ...]
    missing: tuple[str, ...]
    digest: str


def plan_words(sheet: SetupSheet | None, lengths: LengthUnit) -> PlanWords:
    """Sort the sentences of a sheet; without one only the cautions are there."""
    told = describe_plan(sheet) if sheet else None
    plan = sheet.plan if sheet else SetupPlan()
    pull, *care = (one for one in cautions(plan) if one != ROD_CAUTION)
    missing = (
        f"{one.id} ({one.act}): {one.lacks}. {one.record}"
        for one in (sheet.missing if sheet else ())
    )

    def said(sentences: Iterable[str]) -> tuple[str, ...]:
        return tuple(map(with_inches, sentences) if lengths == "in" else sentences)

    return PlanWords(
        strings=said((*told.strings, *told.shim) if told else ()),
        rod=said(told.rod if told else ()),
        saddles=said(told.saddles if told else ()),
        intonation=said(told.intonation if told else ()),
        frets=said(told.frets if told else ()),
        strings_care=(pull, *care[:1]),
        rod_care=ROD_CAUTION,
        care=said(care[1:]),
        left_alone=said(sheet.left_alone if sheet else ()),
        faults=said(sheet.faults if sheet else ()),
        withheld=said(on_the_bench(one) for one in (sheet or plan).withheld),
        assumed=said(sheet.assumed if sheet else ()),
        missing=tuple(missing),
        digest=sheet.digest if sheet else "",
    )


def plot_tables(sheet: SetupSheet, lengths: LengthUnit) -> tuple[PlotTable, ...]:
    """The figures of each plot that a sheet allows."""
    made = (
        _tension(sheet),
        _relief(sheet, lengths),
        _action(sheet, lengths),
        _intonation(sheet, lengths),
        _clearance(sheet, lengths),
    )
    return tuple(one for one in made if one is not None)


def _tension(sheet: SetupSheet) -> PlotTable | None:
    sets = [
        (name, one)
        for name, one in (("as found", sheet.plan.found), ("new", sheet.plan.new))
        if one is not None
    ]
    if not sets:
        return None
    count = max(len(one.strings) for _, one in sets)
    rows = [
        (
            str(number + 1),
            *(
                word
                for _, one in sets
                for word in (
                    (one.strings[number].label, _n(one.strings[number].tension_n))
                    if number < len(one.strings)
                    else ("", "")
                )
            ),
        )
        for number in range(count)
    ]
    rows.append(("all", *(word for _, one in sets for word in ("", _n(one.tension_n)))))
    heads = ("string", *(head for name, _ in sets for head in (f"set {name}", "N")))
    return PlotTable("tension", "Tension by string", heads, tuple(rows))


def _relief(sheet: SetupSheet, lengths: LengthUnit) -> PlotTable | None:
    row = next((one for one in sheet.rows if one.measure == "relief"), None)
    if row is None or sheet.plan.shape is None:
        return None
    states = (
        ("as found", row.found),
        ("new strings, predicted", row.predicted),
        ("new strings, read", row.before_rod),
        ("aim", row.planned),
        ("after", row.final),
    )
    rows = tuple((name, show(one, "mm", lengths)) for name, one in states if one is not None)
    return PlotTable("relief", "Bow of the neck", ("state", "relief"), rows)


def _action(sheet: SetupSheet, lengths: LengthUnit) -> PlotTable | None:
    states = action_states(sheet)
    if not states:
        return None
    rows = tuple(
        (name, *(show(by[side], "mm", lengths) if side in by else "" for side in SIDES))
        for name, by in states
    )
    return PlotTable("action", "Action at the 12th fret", ("state", *SIDES), rows)


def _intonation(sheet: SetupSheet, lengths: LengthUnit) -> PlotTable | None:
    backs = sheet.board.set_backs
    if not backs:
        return None
    rows = tuple(
        (
            str(one.number),
            one.label,
            f"{one.sharp_cents:.1f}",
            show(Estimate(round(one.set_back_mm, 1)), "mm", lengths),
        )
        for one in backs
    )
    heads = ("no", "string", "octave sharp without set-back, cent", "set-back")
    return PlotTable("intonation", "What pressing at the 12th fret does", heads, rows)


def _clearance(sheet: SetupSheet, lengths: LengthUnit) -> PlotTable | None:
    rows = tuple(
        (
            side,
            "open" if not row.held else str(row.held),
            str(row.over),
            show(row.margin_mm, "mm", lengths),
            row.verdict,
        )
        for side, found in sheet.board.buzz
        for row in found
    )
    if not rows:
        return None
    heads = ("side", "held at", "tightest over", "margin", "verdict")
    return PlotTable(
        "clearance", "Least margin between the swinging string and a fret", heads, rows
    )


def _n(value: Estimate) -> str:
    return f"{value.value:.1f} ± {value.uncertainty:.1f}"
