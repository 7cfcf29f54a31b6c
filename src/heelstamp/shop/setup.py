"""Strings and setup: bundled tables handed in, the sheet planned, its plots drawn and written.

Nothing of the record is changed; a folder gets ``relief.svg``, ``action.svg``, ``clearance.svg``,
``intonation.svg`` and ``tension.svg``, as far as the sheet has what they show.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError
from heelstamp.shop.files import folder_refusals, write_whole
from heelstamp.shop.jack import jack_at

if TYPE_CHECKING:
    from heelstamp.casework.setup import Bench, SetupSheet, Wishes
    from heelstamp.mechanics import Estimate, TunedSet
    from heelstamp.mechanics.fret_wear import FretWear
    from heelstamp.report.bench_plots import Value
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.subjects import Subject


@dataclass(frozen=True, slots=True)
class PlannedSheet:
    """The setup sheet and its plots by name, or why there is none."""

    sheet: SetupSheet | None
    plots: dict[str, str]
    refused: str = ""


@dataclass(frozen=True, slots=True)
class Way:
    """One of the ways into Setup: its key, its name, and where it stands in few words."""

    key: str
    name: str
    stands: str


def bench_for(kind: str) -> Bench:
    """Join materials and usual ranges for one kind of instrument."""
    from heelstamp.casework.setup import Bench
    from heelstamp.reference.string_tables import setup_practice, string_materials

    return Bench(string_materials(), setup_practice(kind))


def bench_at(shop: OpenShop, tag: str) -> Bench:
    """Join materials and usual ranges for the instrument of a dossier."""
    return bench_for(shop.subject(tag).state.instrument.kind)


def sheet_for(subject: Subject, wishes: Wishes) -> SetupSheet:
    """Make the setup sheet of a subject; sets that were named at the bench count where none is."""
    from heelstamp.casework.setup import setup_sheet
    from heelstamp.casework.setup.work import wishes_of

    bench = bench_for(subject.state.instrument.kind)
    named = wishes_of(subject.state, bench)
    wishes = replace(wishes, found=wishes.found or named.found, new=wishes.new or named.new)
    return setup_sheet(subject.state, bench, wishes, name=subject.name)


def sheet_at(shop: OpenShop, tag: str) -> PlannedSheet:
    """Plan the setup of a dossier with the sets that were named at the bench; remembered.

    What cannot be computed comes back as a sentence, so that the page still shows what was read.
    """
    return shop.remembered("setup sheet", tag, lambda: _planned(shop.subject(tag)))


def _planned(subject: Subject) -> PlannedSheet:
    from heelstamp.casework.setup import Wishes

    try:
        sheet = sheet_for(subject, Wishes())
        return PlannedSheet(sheet, plots(sheet) if sheet.verdict == "issued" else {})
    except HeelstampError as error:
        return PlannedSheet(None, {}, str(error))


def ways_at(shop: OpenShop, tag: str) -> tuple[Way, ...]:
    """List the ways into Setup and where each stands."""
    from heelstamp.casework.jack.bench_rows import jack_rows
    from heelstamp.casework.recordings import control_takes, note_takes

    subject = shop.subject(tag)
    sheet, finding = sheet_at(shop, tag).sheet, jack_at(shop, tag).finding
    pull = next((row for row in sheet.rows if row.unit == "N"), None) if sheet else None
    values = [one.quantity("N") for one in (pull.found, pull.predicted) if one] if pull else []
    notes = len(note_takes(subject.state))
    controls = control_takes(subject.state, subject.tree)
    takes = sum(len(one) for each in controls for one in each.takes.values())
    read = [one for one in (jack_rows(finding) if finding else ()) if one.twenty][:1]
    return (
        Way("setup", "Setup", " → ".join(str(one) for one in values)),
        Way("note", "Note", f"{notes} recorded" if notes else ""),
        Way("controls", "Controls", f"{takes} takes" if takes else ""),
        Way(
            "jack",
            "Jack",
            "".join(f"pot {one.pot}; {one.name} {one.twenty} at 20 °C" for one in read),
        ),
    )


def write_plots(sheet: SetupSheet, folder: Path) -> tuple[Path, ...]:
    """Write the plots that the sheet allows; return their paths.

    Raises
    ------
    StorageError
        The folder cannot be made or written.
    """
    with folder_refusals(folder, "plots"):
        folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, picture in plots(sheet).items():
        path = folder / f"{name}.svg"
        write_whole(path, picture.encode("utf-8"))
        written.append(path)
    return tuple(written)


def plots(sheet: SetupSheet) -> dict[str, str]:
    """Draw what the sheet has, by name: tension, relief, action, clearance, intonation."""
    drawn = {
        "tension": _tension(sheet.plan.found, sheet.plan.new),
        "relief": _relief(sheet),
        "action": _action(sheet),
        "clearance": _clearance(sheet),
        "intonation": _intonation(sheet),
    }
    return {name: picture for name, picture in drawn.items() if picture}


def wear_picture(wear: FretWear) -> str:
    """Draw the playing wear along the neck."""
    from heelstamp.report.wear_map import wear_map_svg

    return wear_map_svg(wear)


def tension_picture(first: TunedSet, second: TunedSet | None, title: str) -> str:
    """Draw the tension of one set, or of two."""
    from heelstamp.report.bench_plots import Series, tension_svg

    series = [Series("first set", tuple(_value(one.tension_n) for one in first.strings))]
    if second is not None:
        series.append(Series("second set", tuple(_value(s.tension_n) for s in second.strings)))
    return tension_svg(series, _labels(first, second), title=title)


def _labels(first: TunedSet, second: TunedSet | None) -> list[str]:
    labels = [f"{one.number}\n{one.note}\n{one.label}" for one in first.strings]
    if second is None:
        return labels
    pairs = zip(first.strings, second.strings, strict=True)
    return [
        f"{a.note}\n{a.label}\n{b.label}" if a.label != b.label else f"{a.note}\n{a.label}"
        for a, b in pairs
    ]


def _tension(found: TunedSet | None, new: TunedSet | None) -> str:
    from heelstamp.report.bench_plots import Series, tension_svg

    present = [(name, one) for name, one in (("as found", found), ("new", new)) if one is not None]
    if not present:
        return ""
    series = [
        Series(
            f"{name}, {one.tension_n.value:.0f} N in all",
            tuple(_value(string.tension_n) for string in one.strings),
        )
        for name, one in present
    ]
    sets = [one for _, one in present]
    labels = _labels(sets[0], sets[1] if len(sets) > 1 else None)
    return tension_svg(series, labels, title="Tension by string")


def _relief(sheet: SetupSheet) -> str:
    from heelstamp.report.bench_plots import Bow, relief_svg

    shape = sheet.plan.shape
    row = next((one for one in sheet.rows if one.measure == "relief"), None)
    if shape is None or row is None:
        return ""
    states = (
        ("as found", row.found),
        ("new strings, expected", row.predicted),
        ("final", row.final) if row.final else ("planned", row.planned),
    )
    places = tuple(shape.place(fret) for fret in range(shape.last_fret + 1))
    near, far = shape.capo_fret, shape.far_fret
    bows = []
    for name, relief in states:
        if relief is None:
            continue
        heights = shape.profile(relief.value)
        slope = (heights[far] - heights[near]) / (places[far] - places[near])
        line = [heights[near] + slope * (at - places[near]) for at in places]
        under = tuple(h - at for h, at in zip(heights, line, strict=True))
        bows.append(Bow(f"{name} {relief.value:.2f} mm", under))
    if not bows:
        return ""
    title = "Bow of the neck, much exaggerated"
    return relief_svg(bows, places, joint=shape.joint_fret, read_at=shape.relief_fret, title=title)


def _action(sheet: SetupSheet) -> str:
    from heelstamp.casework.setup.sheet_values import action_states
    from heelstamp.report.bench_plots import Series, action_svg

    states = action_states(sheet)
    if not states:
        return ""
    series = [
        Series(f"{side} side", tuple(_value(by[side]) if side in by else None for _, by in states))
        for side in ("treble", "bass")
    ]
    labels = [name.replace(", ", "\n") for name, _ in states]
    return action_svg(series, labels, title="Action at the 12th fret, from state to state")


def _clearance(sheet: SetupSheet) -> str:
    from heelstamp.report.bench_plots import Series, clearance_svg

    if not sheet.board.buzz:
        return ""
    series = [
        Series(f"{side} side", tuple(_value(row.margin_mm) for row in rows))
        for side, rows in sheet.board.buzz
    ]
    return clearance_svg(series, title="Least margin between the swinging string and a fret")


def _intonation(sheet: SetupSheet) -> str:
    from heelstamp.report.bench_plots import Series, Value, intonation_svg

    backs = sheet.board.set_backs
    if not backs:
        return ""
    sharp = tuple(Value(*(3 * (one.sharp_cents,))) for one in backs)
    mm = tuple(Value(*(3 * (one.set_back_mm,))) for one in backs)
    series = [Series("octave sharp without set-back (cent)", sharp), Series("set-back (mm)", mm)]
    labels = [f"{one.number}\n{one.label}" for one in backs]
    title = "What pressing at the 12th fret does, and the set-back for it"
    return intonation_svg(series, labels, title=title)


def _value(one: Estimate) -> Value:
    from heelstamp.report.bench_plots import Value

    return Value(one.value, *one.interval())
