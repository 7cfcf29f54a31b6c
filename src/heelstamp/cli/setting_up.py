"""``setup``: the sheet found, planned, final, with the plan and what is not to be touched."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop, What
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.setup import SetupSheet
    from heelstamp.mechanics import Estimate


def setup(
    what: What,
    found: Annotated[
        str | None, typer.Option("--found", help="Set as found: 11 14 18 28w 38w 50w.")
    ] = None,
    new: Annotated[str | None, typer.Option("--new", help="New set.")] = None,
    tuning: Annotated[
        str | None, typer.Option("--tuning", help='Notes, the highest first: "E4 B3 G3 D3 A2 E2".')
    ] = None,
    relief: Annotated[float | None, typer.Option("--relief", help="Intended relief, mm.")] = None,
    action: Annotated[
        str | None, typer.Option("--action", help="Intended action, treble/bass, mm: 1.6/2.0.")
    ] = None,
    joint: Annotated[int | None, typer.Option("--joint", help="Fret at the neck joint.")] = None,
    frets: Annotated[int | None, typer.Option("--frets", help="Number of frets.")] = None,
    pluck: Annotated[
        float | None,
        typer.Option("--pluck", help="Height of the pluck square to the fingerboard, mm."),
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the plots.")] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """The setup sheet: found, planned, final, and what not to touch.

    Relief under a new set is predicted from the relief as found and tuned down a tone. Refused
    (exit 1) while an act of the setup lacks its evidence from before or after; exit 3 when nothing
    of a setup was read.

    Example: heelstamp setup H-0001 --new "9 11 16 24w 32w 42w" --relief 0.25 --action 1.6/2.0
    """
    from heelstamp.casework.setup import Wishes, sheet_data
    from heelstamp.casework.setup.set_text import read_action
    from heelstamp.shop.opened import open_subject
    from heelstamp.shop.setup import sheet_for, write_plots

    wishes = Wishes(
        found=found,
        new=new,
        tuning=tuple(tuning.split()) if tuning else None,
        relief_mm=relief,
        action_mm=read_action(action) if action else None,
        joint_fret=joint,
        frets=frets,
        pluck_mm=pluck,
    )
    with open_subject(what, shop) as (_, subject):
        sheet = sheet_for(subject, wishes)
    if as_json:
        emit(sheet_data(sheet))
    elif sheet.verdict == "refused":
        _print_refusal(sheet)
    else:
        _print(sheet)
    if out is not None and sheet.verdict == "issued":
        for path in write_plots(sheet, out):
            if not as_json:
                say(f"Written: {path}")
    if sheet.verdict == "refused":
        return Exit.FINDINGS
    return Exit.UNDECIDED if sheet.empty else Exit.DONE


def _print_refusal(sheet: SetupSheet) -> None:
    from heelstamp.casework.feature_names import reader_words

    say(f"{sheet.name}: no setup sheet while an act lacks its before or after.")
    for one in sheet.missing:
        bullet(f"{one.id} ({reader_words(one.act)}): {one.lacks}. {one.record}")


def _print(sheet: SetupSheet) -> None:
    from heelstamp.casework.setup import describe_plan

    say(f"{sheet.name}: setup sheet (± one standard deviation)")
    if sheet.rows:
        table(
            [
                (
                    f"{row.measure} ({row.unit})",
                    *(
                        _shown(one)
                        for one in (
                            row.found,
                            row.predicted,
                            row.before_rod,
                            row.planned,
                            row.final,
                        )
                    ),
                    _verdict(row.prediction_held, row.agrees),
                )
                for row in sheet.rows
            ],
            ("measure", "found", "predicted", "new strings", "planned", "final", "at 90 %"),
        )
    if sheet.case is not None:
        heading("Case")
        for told in sheet.case.reasons:
            bullet(told)
    sentences = describe_plan(sheet).all
    if sentences:
        heading("Plan")
        for told in sentences:
            bullet(told)
    _print_board(sheet)
    for title, told_all in (
        ("Not to touch", sheet.left_alone),
        ("Against the record", sheet.faults),
        ("Care", sheet.cautions),
        ("Assumed", sheet.assumed),
        ("Not computed", sheet.withheld),
    ):
        if told_all:
            heading(title)
            for told in told_all:
                bullet(told)
    say()
    say(f"Sheet {sheet.digest}")


def _print_board(sheet: SetupSheet) -> None:
    board = sheet.board
    if board.fits:
        best = board.fits[0]
        heading("Fret places")
        scale = best.scale_mm.quantity("mm")
        fits = "fits" if best.fits else "does not fit within the reading error: not decided"
        say(f"{best.rule.value.capitalize()} {fits}; scale {scale}.", "  ")
        for one in best.misplaced:
            bullet(
                f"Fret {one.fret} lies {one.off_mm.quantity('mm')} from its place (toward the "
                f"bridge when positive): its notes are {one.sharp_cents:+.1f} cent off.".replace(
                    "-", "−"
                )
            )
    if board.slots:
        heading("Nut slots over the line of the fret tops")
        slots = [(name, _shown(slot.height_mm), slot.verdict) for name, slot in board.slots]
        table(slots, ("slot", "mm", "against practice"))
    if board.set_backs:
        heading("Expected intonation at the planned action")
        table(
            [
                (str(one.number), one.label, f"{one.sharp_cents:.1f}", f"{one.set_back_mm:.1f}")
                for one in board.set_backs
            ],
            ("no", "string", "octave sharp without set-back (cent)", "set-back (mm)"),
        )
    for side, rows in board.buzz:
        tight = [row for row in rows if row.verdict != "clear"]
        heading(f"Clearance, {side} side")
        if not tight:
            say("Clear at every fret for the pluck assumed.", "  ")
            continue
        shown = min(rows, key=lambda row: row.margin_mm.value)
        say(
            f"Tightest: held at {shown.held}, over fret {shown.over}, margin "
            f"{shown.margin_mm.quantity('mm')}; {shown.verdict}.",
            "  ",
        )
        for verdict in ("buzzes", "too close to call"):
            at = [str(row.held or "open") for row in tight if row.verdict == verdict]
            if at:
                bullet(f"{verdict}: held at {', '.join(at)}")


def _shown(one: Estimate | None) -> str:
    return "–" if one is None else str(one.quantity("1"))


def _verdict(held: bool | None, agrees: bool | None) -> str:
    told = []
    if held is not None:
        told.append("as predicted" if held else "NOT as predicted")
    if agrees is not None:
        told.append("as planned" if agrees else "NOT as planned")
    return ", ".join(told)
