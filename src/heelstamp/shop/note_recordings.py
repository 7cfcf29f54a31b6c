"""Recorded notes taken from files or from a dossier, measured, drawn, and entered when asked.

Recordings are only read. Pictures are written beside their final names and renamed, so that each is
whole or not there; none is written for a refused note.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError, StorageError
from heelstamp.shop.folder import is_shop, open_shop
from heelstamp.shop.paper_issue import write_whole
from heelstamp.shop.subjects import read_file

if TYPE_CHECKING:
    from heelstamp.casework.pitch import PitchFinding, SoundFile
    from heelstamp.casework.pitch.procedure import Channel
    from heelstamp.catalogue import Entry

_KEPT = re.compile(r"([A-Za-z0-9][A-Za-z0-9_.-]{0,39}):([A-Za-z0-9][A-Za-z0-9_.:-]{0,63})")


@dataclass(frozen=True, slots=True)
class NoteSource:
    """One recording, and where it came from: a dossier's ``tag`` and its entry, or a file."""

    sound: SoundFile
    tag: str | None = None
    entry: str | None = None
    original: Path | None = None


def load_note(given: str, shop: Path) -> NoteSource:
    """Read a recording: a file, or ``TAG:RECORDING`` of a dossier.

    Raises
    ------
    InputError
        Neither, or an unknown recording.
    IntegrityError
        A kept file is missing or has changed.
    """
    from heelstamp.casework.pitch import SoundFile

    kept = None if Path(given).exists() else _KEPT.fullmatch(given)
    if kept is None:
        path = Path(given)
        return NoteSource(SoundFile(read_file(path), path.name), original=path)
    if not is_shop(shop):
        raise InputError(
            "no shop to find this recording in",
            where=str(shop),
            received=given,
            remedy="Give the shop's folder with --shop, or name a file.",
        )
    from heelstamp.casework.dossier import state_of
    from heelstamp.catalogue.conversion import nearest

    tag, entry = kept[1], kept[2]
    with open_shop(shop) as opened:
        known = state_of(opened, tag).recordings
        if entry not in known:
            raise InputError(
                "no such recording in the dossier",
                where=tag,
                received=entry,
                remedy=nearest(entry, known) if known else "Add it first.",
            )
        data = opened.files.get(known[entry].file)
    return NoteSource(SoundFile(data, f"{tag}:{entry}"), tag, entry)


def measure_notes(
    sources: Sequence[NoteSource],
    notes: Sequence[str | None],
    *,
    channel: Channel = None,
    out: Path | None = None,
) -> list[PitchFinding]:
    """Measure recordings; with *out* draw each that was measured.

    Parameters
    ----------
    notes
        Named note of each source, or None.

    Raises
    ------
    InputError
        A recording cannot be decoded, or a note has no such name.
    StorageError
        The folder cannot be written.
    """
    from heelstamp.casework.pitch import measure_pitch
    from heelstamp.media.decoding import read_recording

    found = [
        measure_pitch(source.sound, read=read_recording, note=note, channel=channel)
        for source, note in zip(sources, notes, strict=True)
    ]
    if out is not None:
        _draw(found, [source.original for source in sources], out)
    return found


def picture_names(names: Sequence[str]) -> list[str]:
    """Give a picture's file name for each recording, no two alike."""
    given: list[str] = []
    for name in names:
        stem = re.sub(r"[^A-Za-z0-9_.-]", "-", Path(name).stem) or "note"
        wanted, number = f"{stem}.svg", 2
        while wanted in given:
            wanted, number = f"{stem}-{number}.svg", number + 1
        given.append(wanted)
    return given


def enter_pitch(
    source: NoteSource, finding: PitchFinding, shop: Path, *, at: str, by: str
) -> Entry:
    """Append a measured pitch to the dossier its recording is of.

    Raises
    ------
    InputError
        The recording is a file, or was refused.
    ConflictError
        It is entered already, or another process wrote.
    """
    from heelstamp.casework.dossier import append, next_id, state_of
    from heelstamp.casework.pitch import pitch_entry

    if source.tag is None or source.entry is None:
        raise InputError(
            "only recordings of a dossier can be entered",
            where="--enter",
            received=source.sound.name,
            remedy="Add the recording to the dossier, then name it as TAG:RECORDING.",
        )
    with open_shop(shop) as opened:
        state = state_of(opened, source.tag)
        body = pitch_entry(finding, state, source.entry, id_=next_id(state, "m"))
        return append(opened, source.tag, "measurement", body, at=at, by=by)


def _draw(found: Sequence[PitchFinding], originals: Sequence[Path | None], out: Path) -> None:
    from heelstamp.report.pitch_picture import pitch_svg

    names = picture_names([one.recording.name for one in found])
    taken = {path.resolve() for path in originals if path is not None}
    if taken & {(out / name).resolve() for name in names}:
        raise InputError(
            "a picture would replace one of the recordings",
            where="--out",
            received=str(out),
            remedy="Name another folder.",
        )
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name, finding in zip(names, found, strict=True):
            (out / name).unlink(missing_ok=True)
            if finding.measured:
                write_whole(out / name, pitch_svg(finding).encode())
    except OSError as error:
        raise StorageError(
            "the folder for pictures cannot be written",
            where=str(out),
            received=error.strerror or error,
            remedy="Name another folder with --out, or free some space.",
        ) from error
