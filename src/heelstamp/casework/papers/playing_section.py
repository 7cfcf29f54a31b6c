"""How it plays: the setup as found and as it leaves, the electrics, the noise of controls.

Read from the measurements of the record alone, each the last of its stage. Lengths are printed in
millimetres or inches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from heelstamp.casework.feature_names import heading, part_label, reader_words
from heelstamp.casework.papers.document_rows import PlayRow
from heelstamp.casework.setup.records import SetupRecord, read_record
from heelstamp.catalogue import DossierState, Measurement, PartsTree
from heelstamp.catalogue.bodies import quantities as q
from heelstamp.units import LengthUnit, Quantity, show_length
from heelstamp.wording import Grounds, Statement, about_summary


class _Row(NamedTuple):
    """A reading: subject and side, its name in the table and in a sentence, its unit."""

    subject: str
    side: str
    name: str
    short: str
    unit: str


_ROWS = (
    _Row("relief", "", "Relief", "relief", "mm"),
    _Row("action", "treble", "Action at the 12th fret, treble", "action treble", "mm"),
    _Row("action", "bass", "Action at the 12th fret, bass", "action bass", "mm"),
    _Row("worst intonation", "", "Worst intonation", "worst intonation", "cent"),
    _Row("nut clearance", "", "Clearance over the 1st fret", "", "mm"),
    _Row("tension", "", "Tension of all strings", "", "N"),
    _Row("weight", "", "Weight without case", "", "g"),
)
_ELECTRIC = ("kΩ", "Ω", "MΩ", "µF", "nF", "pF", "H", "mH")


@dataclass(frozen=True, slots=True)
class PlayingSection:
    """Rows of the table, sentences behind it, and the lines of the first page."""

    rows: tuple[PlayRow, ...]
    told: tuple[Statement, ...]
    first: tuple[Statement, ...]


def playing_section(
    state: DossierState,
    tree: PartsTree,
    *,
    lengths: LengthUnit = "mm",
    electrics: Sequence[Statement] = (),
) -> PlayingSection:
    """Build the section.

    Parameters
    ----------
    lengths
        Unit of lengths on this paper.
    electrics
        What readings at the jack came to.
    """
    record = read_record(state)
    rows, said, ids = [], [], []
    worked = False
    for row in _ROWS:
        found = _read(record, row, "found", lengths)
        final = _read(record, row, "final", lengths)
        last = final or found
        if last is None:
            continue
        rows.append(PlayRow(row.name, found[0] if found else "not read", final[0] if final else ""))
        if row.short:
            worked = worked or final is not None
            said.append(f"{row.short} {last[0]}")
            ids.append(last[1])
    rows += _fret_rows(record, lengths)
    rows += _electric_rows(state, tree)
    first: list[Statement] = []
    if said:
        first.append(
            about_summary.plays("plays", Grounds(tuple(ids)), readings=said, worked=worked)
        )
    else:
        first.append(about_summary.setup_not_read("plays"))
    noises = _noises(state, tree)
    return PlayingSection(tuple(rows), (*noises, *electrics), (*first, *noises))


def _read(
    record: SetupRecord, row: _Row, stage: str, lengths: LengthUnit
) -> tuple[str, str] | None:
    """What was read last at a stage, as printed, and the id of its entry."""
    wanted: dict[str, object] = {"stage": stage, "role": "read", "side": row.side}
    if row.subject in ("relief", "action") and stage == "found":
        wanted |= {"down": 0.0, "new_strings": False}
    one = record.last(row.subject, **wanted)
    if one is None:
        return None
    return _written(one.value.value, one.value.uncertainty, row.unit, lengths), one.id


def _written(value: float, uncertainty: float, unit: str, lengths: LengthUnit) -> str:
    if unit == "mm":
        return show_length(value, uncertainty, lengths)
    return str(Quantity(value, unit, uncertainty))


def _fret_rows(record: SetupRecord, lengths: LengthUnit) -> list[PlayRow]:
    rows = []
    for stage in ("found", "final"):
        heights = [one.value.value for one in record.of("fret height", stage=stage)]
        if heights:
            low, high = (show_length(one, 0.0, lengths) for one in (min(heights), max(heights)))
            told = f"{low} to {high}, {len(heights)} read"
            rows.append(
                PlayRow("Height of the frets", told, "")
                if stage == "found"
                else PlayRow("Height of the frets, after the work", "", told)
            )
    return rows


def _electric_rows(state: DossierState, tree: PartsTree) -> list[PlayRow]:
    """Electrical values other than raw readings at the jack, at their temperature."""
    by_name: dict[str, dict[str, str]] = {}
    for one in state.measurements.values():
        if one.unit not in _ELECTRIC or one.quantity == q.JACK_RESISTANCE:
            continue
        at = "" if one.temperature is None else f" at {one.temperature:g} °C"
        bare = reader_words(one.quantity).replace(f"{at}", "")
        label = part_label(tree, one.part)
        name = heading(bare if label in bare else f"{label}, {bare}")
        by_name.setdefault(name, {})[one.stage] = f"{one.measured}{at}"
    return [
        PlayRow(name, stages.get("found", ""), stages.get("final", ""))
        for name, stages in by_name.items()
    ]


def _noises(state: DossierState, tree: PartsTree) -> list[Statement]:
    """Crackle of each control as found and after."""
    by_part: dict[str, dict[str, Measurement]] = {}
    for one in state.measurements.values():
        if one.quantity == q.CRACKLE:
            by_part.setdefault(one.part, {})[one.stage] = one
    told = []
    for part, stages in by_part.items():
        found, final = stages.get("found"), stages.get("final")
        if found is None:
            continue
        told.append(
            about_summary.noise(
                f"noise:{part}",
                Grounds(tuple(one.id for one in (found, final) if one is not None)),
                part=part_label(tree, part),
                found=_count(found),
                final="" if final is None else _count(final),
            )
        )
    return told


def _count(one: Measurement) -> str:
    return str(Quantity(one.value, "1", one.uncertainty or 0.0))
