"""``pitch``: the pitch of plucked notes from their recordings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say, table
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from heelstamp.casework.pitch import IntonationFinding, PitchFinding
    from heelstamp.casework.pitch.procedure import Channel


def pitch(
    recordings: Annotated[
        list[str], typer.Argument(help="Recordings of one plucked note each, or TAG:RECORDING.")
    ],
    note: Annotated[
        list[str] | None,
        typer.Option("--note", help="Note that was played, as E2: one for each recording."),
    ] = None,
    channel: Annotated[
        str | None, typer.Option("--channel", help="Channel from 1, or mix; else the strongest.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for a picture of each.")] = None,
    enter: Annotated[
        bool, typer.Option("--enter", help="Enter each measured pitch in its dossier.")
    ] = False,
    shop: Shop = HERE,
    by: By = EXAMINER,
    as_json: AsJson = False,
) -> int:
    """Measure the pitch of plucked notes: fitted string, stiffness, glide, intonation.

    Example: heelstamp pitch low-e.wav low-e-12th.wav --note E2 --note E3 --out pictures
    """
    from heelstamp.casework.pitch import intonation_of
    from heelstamp.shop.opened import shop_for
    from heelstamp.shop.recordings import draw_notes, enter_pitch, measure_note, recording_named

    notes, which = _notes(note or [], len(recordings)), _channel(channel)
    entered: list[dict[str, Any]] = []
    with shop_for(recordings, shop, "this recording") as opened:
        sources = [recording_named(opened, given) for given in recordings]
        found = [
            measure_note(source.file, name, which)
            for source, name in zip(sources, notes, strict=True)
        ]
        if out is not None:
            draw_notes(found, sources, out)
        rows = intonation_of(found)
        for source, finding in zip(sources, found, strict=True) if enter else ():
            if opened is None or source.tag is None or source.entry is None:
                raise InputError(
                    "only recordings of a dossier can be entered",
                    where="--enter",
                    received=source.file.name,
                    remedy="Add the recording to the dossier, then name it as TAG:RECORDING.",
                )
            if finding.measured:
                entry = enter_pitch(opened, source.tag, finding, source.entry, by=by)
                entered.append({"seq": entry.seq, "id": entry.body["id"], "digest": entry.digest})
    if as_json:
        emit(_value(found, rows, entered if enter else None))
    else:
        _print(found, rows, out)
        for row in entered:
            say(f"Entry {row['seq']}: measurement {row['id']}")
    return Exit.DONE if all(one.measured for one in found) else Exit.UNDECIDED


def _value(
    found: Sequence[PitchFinding],
    rows: Sequence[IntonationFinding],
    entered: list[dict[str, Any]] | None,
) -> dict[str, Any]:
    """One recording gives its finding; several give a list of them and the intonation."""
    value = (
        found[0].data()
        if len(found) == 1
        else {"notes": [one.data() for one in found], "intonation": [row.data() for row in rows]}
    )
    return value if entered is None else {**value, "entered": entered}


def _notes(given: list[str], count: int) -> list[str | None]:
    if given and len(given) != count:
        raise InputError(
            "not one note for each recording",
            where="--note",
            received=f"{len(given)} for {count}",
            remedy="Repeat --note in the order of the recordings, or leave it away.",
        )
    return list(given) if given else [None] * count


def _channel(given: str | None) -> Channel:
    if given is None:
        return None
    if given == "mix":
        return "mix"
    if given.isdecimal() and given != "0":
        return int(given)
    raise InputError("no channel", where="--channel", received=given, remedy="Give 1, 2, … or mix.")


def _print(
    found: Sequence[PitchFinding], rows: Sequence[IntonationFinding], out: Path | None
) -> None:
    from heelstamp.casework.pitch.finding import CLOCK

    measured = [one for one in found if one.measured]
    if measured:
        table(
            [_row(one) for one in measured],
            (
                "recording",
                "note",
                "f1 (Hz)",
                "cents (90 %)",
                "1 s after the pluck",
                "B (90 %)",
                "glide",
                "partials used",
            ),
        )
    for one in found:
        if not one.measured:
            say(f"{one.recording.name}: refused.")
        remarks = one.remarks()
        if one.measured and remarks:
            say(f"{one.recording.name}:")
        for remark in remarks:
            bullet(remark)
    if rows:
        heading("Twelfth fret against the open string, 1 s after the pluck")
        table(
            [_string(row) for row in rows],
            ("string", "open", "12th", "cents (90 %)", "B, 1 = one string"),
        )
    if measured:
        say(f"Settled first partial of the fitted string; not the perceived pitch. {CLOCK}")
        if out is not None:
            say(f"Pictures are in {out}.")


def _row(one: PitchFinding) -> tuple[str, ...]:
    data, pitch = one.data(), one.pitch
    assert pitch.cents_sigma is not None
    assert pitch.b_sigma is not None
    assert pitch.later_cents_sigma is not None
    used = sum(partial.used for partial in pitch.partials)
    glide = f"{data['glide_cents']:+.2f}" if data["glide_found"] else "none found"
    return (
        one.recording.name,
        str(one.note),
        f"{data['f1_hz']:.4f}",
        f"{data['cents']:+.3f} ± {pitch.quantile * pitch.cents_sigma:.3f}",
        f"{data['cents_at_1_s']:+.3f} ± {pitch.quantile * pitch.later_cents_sigma:.3f}",
        f"{data['B']:.3e} ± {pitch.quantile * pitch.b_sigma:.0e}",
        glide.replace("-", "−"),
        f"{used} of {len(pitch.partials)}",
    )


def _string(row: IntonationFinding) -> tuple[str, ...]:
    one = row.string
    doubt = "" if one.one_string else ": not one string, or not the 12th fret"
    return (
        str(one.string),
        row.open_name,
        row.fretted_name,
        f"{one.cents:+.3f} ± {one.quantile * one.cents_sigma:.3f}".replace("-", "−"),
        f"{one.b_ratio:.2f}{doubt}",
    )
