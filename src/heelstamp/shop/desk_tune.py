"""Tune at the desk: the sheet, its plots and the jack's finding, each remembered for the journal.

What cannot be computed comes back as a sentence beside nothing, so that the screen still shows what
was read.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError
from heelstamp.shop.opened import OpenShop

if TYPE_CHECKING:
    from heelstamp.casework.jack import JackFinding
    from heelstamp.casework.setup import Bench, SetupSheet


@dataclass(frozen=True, slots=True)
class SheetAt:
    """The setup sheet and its plots by name, or why there is none."""

    sheet: SetupSheet | None
    plots: dict[str, str]
    refused: str = ""


@dataclass(frozen=True, slots=True)
class JackAt:
    """What the readings at the jack came to, with the picture of the response, or why nothing."""

    finding: JackFinding | None
    picture: str
    refused: str = ""


def bench_at(desk: OpenShop, tag: str) -> Bench:
    """Give materials and usual ranges for the instrument of a dossier."""
    from heelstamp.shop.setup_desk import bench_for

    return bench_for(desk.subject(tag).state.instrument.kind)


def sheet_at(desk: OpenShop, tag: str) -> SheetAt:
    """Plan the setup of a dossier with the sets that were named at the bench."""
    return desk.remembered("setup sheet", tag, lambda: _sheet(desk, tag))


def jack_at(desk: OpenShop, tag: str) -> JackAt:
    """Work out the readings at the jack of a dossier."""
    return desk.remembered("jack", tag, lambda: _jack(desk, tag))


def _sheet(desk: OpenShop, tag: str) -> SheetAt:
    from heelstamp.casework.setup import Wishes
    from heelstamp.shop.setup_desk import plots, sheet_for

    try:
        sheet = sheet_for(desk.subject(tag), Wishes())
        return SheetAt(sheet, plots(sheet) if sheet.verdict == "issued" else {})
    except HeelstampError as error:
        return SheetAt(None, {}, str(error))


def _jack(desk: OpenShop, tag: str) -> JackAt:
    from heelstamp.shop.jack_desk import Options, examine_subject, response_picture

    try:
        finding = examine_subject(desk.subject(tag), Options())
    except HeelstampError as error:
        return JackAt(None, "", str(error))
    return JackAt(finding, response_picture(finding))


@dataclass(frozen=True, slots=True)
class Way:
    """One of the ways into Tune: its key, its name, and where it stands in few words."""

    key: str
    name: str
    stands: str


def ways_at(desk: OpenShop, tag: str) -> tuple[Way, ...]:
    """Give the ways into Tune and where each stands."""
    from heelstamp.casework.jack.bench_rows import jack_rows
    from heelstamp.casework.recordings import control_takes, note_takes

    state, tree = desk.subject(tag).state, desk.subject(tag).tree
    sheet, finding = sheet_at(desk, tag).sheet, jack_at(desk, tag).finding
    pull = next((row for row in sheet.rows if row.unit == "N"), None) if sheet else None
    values = [one.quantity("N") for one in (pull.found, pull.predicted) if one] if pull else []
    notes = len(note_takes(state))
    takes = sum(len(one) for each in control_takes(state, tree) for one in each.takes.values())
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
