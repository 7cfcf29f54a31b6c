"""The sheet and the tension table as plain values for programs.

Every number goes out with its unit and its standard uncertainty; an interval is of 90 %.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heelstamp.casework.setup.plan import SIDES
from heelstamp.casework.setup.sheet import SetupSheet, SheetRow
from heelstamp.mechanics import Estimate, TunedSet
from heelstamp.mechanics.condensation import SafeToOpen
from heelstamp.mechanics.rod import RodAdvice
from heelstamp.mechanics.tension import TensionChange


def estimate_data(value: Estimate | None, unit: str, places: int = 4) -> dict[str, Any] | None:
    """A value with unit, standard uncertainty and 90 % interval; None stays None."""
    if value is None:
        return None
    low, high = value.interval()
    return {
        "value": round(value.value, places),
        "uncertainty": round(value.uncertainty, places),
        "interval_90": [round(low, places), round(high, places)],
        "unit": unit,
    }


def set_data(one: TunedSet | None) -> dict[str, Any] | None:
    """A set at pitch."""
    if one is None:
        return None
    return {
        "strings": [
            {
                "number": string.number,
                "string": string.label,
                "note": string.note,
                "frequency_hz": round(string.frequency_hz, 3),
                "mass": estimate_data(1e3 * string.mass_kg_m, "g/m"),
                "tension": estimate_data(string.tension_n, "N", 2),
            }
            for string in one.strings
        ],
        "tension": estimate_data(one.tension_n, "N", 2),
        "mass": estimate_data(one.mass_g, "g", 2),
    }


def change_data(one: TensionChange | None) -> dict[str, Any] | None:
    """A change of set or tuning."""
    if one is None:
        return None
    return {
        "each": [estimate_data(value, "N", 2) for value in one.each_n],
        "tension": estimate_data(one.total_n, "N", 2),
        "ratio": estimate_data(one.ratio, "1"),
        "mass": estimate_data(one.mass_g, "g", 2),
    }


def sheet_data(sheet: SetupSheet) -> dict[str, Any]:
    """A sheet as plain values."""
    plan, board = sheet.plan, sheet.board
    spring = plan.spring
    return {
        "subject": sheet.name,
        "verdict": sheet.verdict,
        "missing": [
            {"treatment": one.id, "act": one.act, "lacks": one.lacks, "record": one.record}
            for one in sheet.missing
        ],
        "faults": list(sheet.faults),
        "rows": [_row(row) for row in sheet.rows],
        "strings": {
            "found": set_data(plan.found),
            "new": set_data(plan.new),
            "change": change_data(plan.change),
        },
        "neck": None
        if spring is None
        else {
            "relief_per_newton": estimate_data(spring.compliance_mm_n, "mm/N", 7),
            "basis": spring.basis,
            "determined": spring.determined,
            "doubts": list(spring.doubts),
        },
        "action_per_relief": estimate_data(
            plan.shape.action_per_relief() if plan.shape else None, "1"
        ),
        "rod_tool": None
        if plan.tool is None
        else {
            "tool": plan.tool.tool,
            "play": estimate_data(plan.tool.play_mm, "mm"),
            "margin_mm": round(plan.tool.margin_mm, 4),
            "fits": plan.tool.fits,
        },
        "rod": rod_data(plan.rod),
        "rod_now": rod_data(plan.rod_now),
        "shim": None
        if plan.shim is None
        else {
            "angle": estimate_data(plan.shim.angle_deg, "°"),
            "at_saddles_from_last_fret": estimate_data(plan.shim.at_saddles_mm, "mm"),
            "saddles_up": estimate_data(plan.shim.saddles_up_mm, "mm"),
        },
        "saddle_moves": [
            {
                "string": one.name,
                "cents": estimate_data(one.cents, "cent", 2),
                "back": estimate_data(one.back_mm, "mm", 3),
            }
            for one in board.moves
        ],
        "expected_set_back": [
            {
                "number": one.number,
                "string": one.label,
                "sharp_cents_without": round(one.sharp_cents, 2),
                "set_back_mm": round(one.set_back_mm, 2),
            }
            for one in board.set_backs
        ],
        "nut_slots": [
            {"slot": name, "height": estimate_data(slot.height_mm, "mm"), "verdict": slot.verdict}
            for name, slot in board.slots
        ],
        "fret_places": [
            {
                "rule": fit.rule.value,
                "fits": fit.fits,
                "scale": estimate_data(fit.scale_mm, "mm", 3),
                "spread": round(fit.spread, 2),
                "misplaced": [
                    {
                        "fret": one.fret,
                        "off": estimate_data(one.off_mm, "mm", 3),
                        "sharp_cents": round(one.sharp_cents, 1),
                    }
                    for one in fit.misplaced
                ],
            }
            for fit in board.fits
        ],
        "clearance": {
            side: [
                {
                    "held": row.held,
                    "tightest_over": row.over,
                    "clearance": estimate_data(row.clearance_mm, "mm", 3),
                    "margin": estimate_data(row.margin_mm, "mm", 3),
                    "verdict": row.verdict,
                }
                for row in rows
            ]
            for side, rows in board.buzz
        },
        "fret_life": board.life
        and {
            "lowest_fret": board.life.lowest_fret,
            "lowest": estimate_data(board.life.lowest_mm, "mm", 3),
            "spare": estimate_data(board.life.spare_mm, "mm", 3),
            "dressings": board.life.dressings,
            "chances": [round(one, 3) for one in board.life.chances],
            "worn": list(board.life.worn),
        },
        "fret_wear": board.wear
        and [
            {
                "fret": one.fret,
                "string": one.string,
                "loss": estimate_data(one.loss_mm, "mm", 3),
                "worn": one.worn,
            }
            for one in board.wear.crowns
        ],
        "crowns_mm": board.crowns_mm and list(board.crowns_mm),
        "board_radius": board.radius_mm and estimate_data(board.radius_mm, "mm", 1),
        "case": case_data(sheet.case),
        "left_alone": list(sheet.left_alone),
        "cautions": list(sheet.cautions),
        "assumed": list(sheet.assumed),
        "withheld": list(sheet.withheld),
        "digest": sheet.digest,
    }


def rod_data(one: RodAdvice | None) -> dict[str, Any] | None:
    """Advice on the rod."""
    if one is None:
        return None
    return {
        "act": one.act,
        "turns": round(one.turns, 4),
        "reasons": list(one.reasons),
        "response": estimate_data(one.response_mm_turn, "mm/turn"),
        "steps_left": one.steps_left,
    }


def case_data(one: SafeToOpen | None) -> Mapping[str, Any] | None:
    """When a case may be opened."""
    if one is None:
        return None
    return {
        "dew_point": estimate_data(one.dew_point_c, "°C", 2),
        "open_now": one.open_now,
        "time_constant": estimate_data(one.time_constant_h, "h", 2),
        "wait_h": one.wait_h,
        "wait_95_h": one.wait_to_h,
        "reasons": list(one.reasons),
    }


def _row(row: SheetRow) -> dict[str, Any]:
    values = {
        name: estimate_data(getattr(row, name), row.unit)
        for name in ("found", "predicted", "before_rod", "planned", "final")
    }
    usual = row.usual
    return {
        "measure": row.measure,
        "unit": row.unit,
        **values,
        "prediction_held": row.prediction_held,
        "agrees": row.agrees,
        "usual": None if usual is None else [usual.low, usual.high],
    }


def action_states(sheet: SetupSheet) -> tuple[tuple[str, Mapping[str, Estimate]], ...]:
    """The action by side at each state of the work that has one, in the order of the work."""
    names = (
        ("before", "found"),
        ("new strings, predicted", "predicted"),
        ("new strings, read", "before_rod"),
        ("aim", "planned"),
        ("after", "final"),
    )
    rows = {
        side: row for row in sheet.rows for side in SIDES if row.measure.endswith(f"12, {side}")
    }
    found = [
        (name, {side: value for side, row in rows.items() if (value := getattr(row, field))})
        for name, field in names
    ]
    return tuple((name, by) for name, by in found if by)
