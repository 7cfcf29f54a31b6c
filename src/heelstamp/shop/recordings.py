"""Recordings: kept once, listened to, drawn, and what they came to entered.

A recording is a file on the disk or kept in a dossier. A finding about kept recordings depends on
nothing but the files, what was asked and the program; it is kept in the shop under the digest of
these, so that a page does not listen twice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.ports import NamedFile
from heelstamp.errors import InputError, NotFoundError
from heelstamp.shop.files import (
    Source,
    clear_folder,
    entry_named,
    folder_refusals,
    kept_id,
    named,
    write_whole,
)
from heelstamp.shop.folder import now
from heelstamp.shop.opened import OpenShop

if TYPE_CHECKING:
    from heelstamp.casework.control_noise import NoiseFinding
    from heelstamp.casework.pitch import IntonationFinding, PitchFinding
    from heelstamp.casework.pitch.procedure import Channel
    from heelstamp.casework.recordings import ControlTakes, NoteTake
    from heelstamp.catalogue import Entry, Recording

FORM = "heelstamp/bench-sound/4"


def recording_at(shop: OpenShop, tag: str, recording: str) -> Recording:
    """Return the entry of a recording.

    Raises
    ------
    NotFoundError
        There is no such dossier, or no such recording in it.
    """
    return entry_named(shop.subject(tag).state.recordings, tag, recording, "recording")


def recording_named(shop: OpenShop | None, word: str) -> Source:
    """Read a recording: a file, or ``TAG:RECORDING`` of a dossier of *shop*.

    Raises
    ------
    InputError
        Neither, or an unknown recording.
    IntegrityError
        A kept file is missing or has changed.
    """
    kept = kept_id(word)
    if kept is None or shop is None:
        return named(word)
    one = recording_at(shop, *kept)
    return Source(NamedFile(shop.files.get(one.file), word), *kept)


def keep_recording(
    shop: OpenShop,
    tag: str,
    data: bytes,
    details: Mapping[str, Any],
    *,
    by: str,
    spoken: bool = False,
) -> None:
    """Keep a recording and its entry; what a device sends twice is kept once.

    Parameters
    ----------
    spoken
        A spoken note is bounded in size and kept as it came; any other must be one that the
        program can listen to.

    Raises
    ------
    InputError
        Not a recording, too large, too long, or its id names another; nothing is kept then.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.dossier import attach_recording

    name = str(details["name"])
    body = {**details, "media_type": _media_type(data, name, spoken=spoken)}
    standing = shop.subject(tag).state.recordings.get(str(details["id"]))
    if standing is not None:
        if standing.file != sha256(data):
            raise InputError(
                "this id names another recording",
                where=tag,
                received=details["id"],
                remedy="Send it anew.",
            )
        return
    try:
        attach_recording(shop, tag, data, body, at=now(), by=by)
    except InputError:
        meanwhile = shop.subject(tag).state.recordings.get(str(details["id"]))
        if meanwhile is None or meanwhile.file != sha256(data):
            raise  # else it was sent to another server at the same time


def _media_type(data: bytes, name: str, *, spoken: bool) -> str:
    from heelstamp.casework.recordings import VOICE_MOST_BYTES, VOICE_MOST_S
    from heelstamp.media.decoding import read_recording
    from heelstamp.media.sound_kinds import sound_type
    from heelstamp.media.spoken import spoken_seconds

    kind = sound_type(data, name)
    if not spoken:
        read_recording(data, name)
        return kind
    if len(data) > VOICE_MOST_BYTES:
        raise InputError(
            "a spoken note too large to keep",
            where=name,
            received=f"{len(data) / 1e6:.1f} MB",
            remedy=f"At most {VOICE_MOST_BYTES // 1_000_000} MB and {VOICE_MOST_S / 60:.0f} "
            "minutes: say it in two.",
        )
    if kind in ("audio/webm", "audio/mp4"):
        seconds = spoken_seconds(data, kind, name)
    else:
        seconds = read_recording(data, name).seconds
    if seconds > VOICE_MOST_S + 1.0:
        raise InputError(
            "a spoken note too long to keep",
            where=name,
            received=f"{seconds:.0f} s",
            remedy=f"At most {VOICE_MOST_S / 60:.0f} minutes: say it in two.",
        )
    return kind


# --- Notes --------------------------------------------------------------------------------------


def measure_note(file: NamedFile, note: str | None = None, channel: Channel = None) -> PitchFinding:
    """Measure the pitch of one recorded note; *note* is its name, heard when None.

    Raises
    ------
    InputError
        The recording cannot be decoded, or a note has no such name.
    """
    from heelstamp.casework.pitch import measure_pitch
    from heelstamp.media.decoding import read_recording

    return measure_pitch(file, read=read_recording, note=note, channel=channel)


def draw_notes(found: Sequence[PitchFinding], sources: Sequence[Source], out: Path) -> None:
    """Draw each note that was measured into the folder *out*; none for a refused one.

    Raises
    ------
    InputError
        A picture would replace one of the recordings.
    StorageError
        The folder cannot be written.
    """
    from heelstamp.report.pitch_picture import pitch_svg

    names = picture_names([one.recording.name for one in found])
    paths = [one.path for one in sources if one.path is not None]
    clear_folder(out, names, paths, "recordings")
    with folder_refusals(out, "pictures"):
        for name, finding in zip(names, found, strict=True):
            if finding.measured:
                write_whole(out / name, pitch_svg(finding).encode())


def picture_names(names: Sequence[str]) -> list[str]:
    """Name a picture's file for each recording, no two alike."""
    given: list[str] = []
    for name in names:
        stem = re.sub(r"[^A-Za-z0-9_.-]", "-", Path(name).stem) or "note"
        wanted, number = f"{stem}.svg", 2
        while wanted in given:
            wanted, number = f"{stem}-{number}.svg", number + 1
        given.append(wanted)
    return given


def enter_pitch(
    shop: OpenShop, tag: str, finding: PitchFinding, recording: str, *, by: str, id_: str = ""
) -> Entry:
    """Enter a measured pitch in the dossier its recording is of.

    Parameters
    ----------
    id_
        Id of the measurement; the next free one when empty.

    Raises
    ------
    InputError
        The recording was refused.
    ConflictError
        It is entered already.
    """
    from heelstamp.casework.dossier import next_id
    from heelstamp.casework.pitch import pitch_entry

    state = shop.subject(tag).state
    body = pitch_entry(finding, state, recording, id_=id_ or next_id(state, "m"))
    return shop.enter(tag, [NewEntry("measurement", body)], by=by)[0]


def note_at(shop: OpenShop, tag: str, recording: str) -> NoteTake:
    """Return a recorded note by the id of its recording.

    Raises
    ------
    NotFoundError
        It is none.
    """
    from heelstamp.casework.recordings import note_takes

    for one in note_takes(shop.subject(tag).state):
        if one.recording.id == recording:
            return one
    raise NotFoundError("no recorded note", where=tag, received=recording, remedy="See Setup.")


def note_told(shop: OpenShop, take: NoteTake) -> dict[str, Any]:
    """Lay out what a recorded note came to: ``data``, ``remarks``, ``picture``, or ``refused``."""
    asked = ["note", take.recording.id, take.recording.file, take.note]

    def made() -> dict[str, Any]:
        from heelstamp.casework.recordings import cents_words, scientific
        from heelstamp.report.pitch_picture import pitch_svg

        finding = _listened(shop, take)
        return {
            "data": finding.data(),
            "remarks": finding.remarks(),
            "stiffness": scientific(finding.pitch.b),
            "cents": cents_words(finding.pitch.cents, finding.pitch.cents_90),
            "later": cents_words(finding.pitch.later_cents, finding.pitch.later_cents_90),
            "picture": pitch_svg(finding) if finding.measured else "",
        }

    return _kept(shop, asked, made)


def enter_note(shop: OpenShop, tag: str, take: NoteTake, *, id_: str, by: str) -> bool:
    """Enter the pitch of a recorded note, unless it stands already; False when it was refused."""
    from heelstamp.casework.pitch import entered_pitch

    told = note_told(shop, take)
    if told["refused"] or told["data"]["refused"]:
        return False
    finding = _listened(shop, take)
    state = shop.subject(tag).state
    if entered_pitch(state, take.recording.id, finding.note) is None:
        enter_pitch(shop, tag, finding, take.recording.id, id_=id_, by=by)
    return True


def intonation_told(shop: OpenShop, pair: tuple[NoteTake, NoteTake]) -> dict[str, Any]:
    """Compare the twelfth fret with the open string: ``row`` or None, or ``refused``."""
    asked = ["intonation", *(f"{one.recording.id} {one.recording.file} {one.note}" for one in pair)]

    def made() -> dict[str, Any]:
        from heelstamp.casework.pitch import intonation_of
        from heelstamp.casework.recordings import cents_words

        rows: tuple[IntonationFinding, ...] = intonation_of([_listened(shop, one) for one in pair])
        row = rows[0].data() if rows else None
        return {"row": row, "cents": cents_words(row["cents"], row["cents_90"]) if row else ""}

    return _kept(shop, asked, made)


def _listened(shop: OpenShop, take: NoteTake) -> PitchFinding:
    return measure_note(_file(shop, take.recording), take.note or None)


# --- Controls -----------------------------------------------------------------------------------


def examine_control(
    sweep: NamedFile,
    still: NamedFile,
    *,
    turns: float | None = None,
    before: NamedFile | None = None,
    before_still: NamedFile | None = None,
    before_turns: float | None = None,
    switch: bool = False,
) -> NoiseFinding:
    """Judge the takes of a control; parameters and errors as `examine_noise` has."""
    from heelstamp.casework.control_noise import examine_noise
    from heelstamp.media.decoding import read_recording

    return examine_noise(
        sweep,
        still,
        read=read_recording,
        turns=turns,
        switch=switch,
        before=before,
        before_still=before_still,
        before_turns=before_turns,
    )


def control_picture(finding: NoiseFinding) -> str:
    """Draw all takes of a control as SVG."""
    from heelstamp.report.noise_drawing import DrawnTake, noise_svg

    drawn = []
    for one in finding.takes:
        noise = one.noise
        rate = "" if noise.per_turn is None else f", {noise.per_turn:.1f} a turn"
        drawn.append(
            DrawnTake(
                one.sweep,
                f"{len(noise.events)} events{rate}",
                one.recording.samples,
                one.recording.rate_hz,
                tuple(event.at_s for event in noise.events),
            )
        )
    return noise_svg(drawn)


def control_told(shop: OpenShop, control: ControlTakes, turns: float | None) -> dict[str, Any]:
    """Lay out what the takes of a control came to: ``data``, ``told``, ``picture``, or ``refused``.

    The later stage is judged, the earlier one stands beside it; *turns* of each take, each way one,
    where they cannot be heard.
    """
    stages = control.stages
    files = [control.takes[stage][take] for stage in stages for take in ("sweep", "still")]
    asked = ["noise", control.part, f"{turns}", *(f"{one.id} {one.file}" for one in files)]

    def made() -> dict[str, Any]:
        last, *earlier = reversed(stages)
        now_, before = control.takes[last], control.takes[earlier[0]] if earlier else None
        finding = examine_control(
            _file(shop, now_["sweep"]),
            _file(shop, now_["still"]),
            turns=turns,
            before_turns=turns if before else None,
            switch=control.part == "switch",
            before=_file(shop, before["sweep"]) if before else None,
            before_still=_file(shop, before["still"]) if before else None,
        )
        return {
            "data": finding.data(),
            "told": [one.text for one in finding.statements()],
            "picture": "" if finding.refused else control_picture(finding),
        }

    return _kept(shop, asked, made)


def _file(shop: OpenShop, one: Recording) -> NamedFile:
    return NamedFile(shop.files.get(one.file), one.id)


def _kept(
    shop: OpenShop, asked: Sequence[str], make: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """Read a finding that is kept in the shop, or make and keep it; a refusal is kept with it."""
    import msgspec

    from heelstamp import __version__
    from heelstamp.archive import digest_of

    key = digest_of({"form": FORM, "program": __version__, "asked": list(asked)})
    kept = shop.journals.findings([key]).get(key)
    if kept is None:
        try:
            told = {"refused": "", **make()}
        except InputError as error:
            told = {"refused": str(error)}
        kept = msgspec.json.encode(told)
        shop.journals.keep_findings(asked[0], {key: kept})
    found: dict[str, Any] = msgspec.json.decode(kept)
    return found
