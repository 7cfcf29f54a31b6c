"""Recordings at the desk: kept once, known by their bytes, listened to, findings kept in the shop.

A finding about recordings depends on nothing but the files, what was asked and the program; it is
kept in the shop under the digest of these, so that a page does not listen twice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from heelstamp.shop.opened import OpenShop
from heelstamp.shop.folder import now
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.recordings import ControlTakes, NoteTake
    from heelstamp.casework.control_noise import NoiseFinding, TakeFile
    from heelstamp.casework.pitch import IntonationFinding, PitchFinding
    from heelstamp.catalogue import Recording

FORM = "heelstamp/bench-sound/3"


def keep_recording(
    desk: OpenShop,
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
    standing = desk.subject(tag).state.recordings.get(str(details["id"]))
    if standing is not None:
        if standing.file != sha256(data):
            raise InputError(
                "this id names another recording",
                where=tag,
                received=details["id"],
                remedy="Send it anew.",
            )
        return
    attach_recording(desk.shop, tag, data, body, at=now(), by=by)


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


def recording_at(desk: OpenShop, tag: str, recording: str) -> tuple[Recording, Callable[[], bytes]]:
    """Give the entry of a recording, and how to get its bytes.

    Raises
    ------
    InputError
        There is no such recording in the dossier.
    """
    one = desk.subject(tag).state.recordings.get(recording)
    if one is None:
        raise InputError("no such recording", where=tag, received=recording, remedy="See Tune.")
    return one, lambda: desk.shop.files.get(one.file)


def take_at(desk: OpenShop, tag: str, recording: str) -> NoteTake:
    """Give a recorded note by the id of its recording.

    Raises
    ------
    InputError
        It is none.
    """
    from heelstamp.casework.recordings import note_takes

    for one in note_takes(desk.subject(tag).state):
        if one.recording.id == recording:
            return one
    raise InputError("no recorded note", where=tag, received=recording, remedy="See Tune.")


def note_at(desk: OpenShop, take: NoteTake) -> dict[str, Any]:
    """Give what a recorded note came to: ``data``, ``remarks``, ``picture``, or ``refused``."""
    asked = ["note", take.recording.id, take.recording.file, take.note]

    def made() -> dict[str, Any]:
        from heelstamp.casework.recordings import cents_words, scientific
        from heelstamp.report.pitch_picture import pitch_svg

        finding = listened(desk, take)
        return {
            "data": finding.data(),
            "remarks": finding.remarks(),
            "stiffness": scientific(finding.pitch.b),
            "cents": cents_words(finding.pitch.cents, finding.pitch.cents_90),
            "picture": pitch_svg(finding) if finding.measured else "",
        }

    return _kept(desk, asked, made)


def listened(desk: OpenShop, take: NoteTake) -> PitchFinding:
    """Listen to a recorded note now."""
    from heelstamp.casework.pitch import SoundFile, measure_pitch
    from heelstamp.media.decoding import read_recording

    sound = SoundFile(desk.shop.files.get(take.recording.file), take.recording.id)
    return measure_pitch(sound, read=read_recording, note=take.note or None)


def enter_note(desk: OpenShop, tag: str, take: NoteTake, *, id_: str, by: str) -> bool:
    """Enter the pitch of a recorded note, unless it stands already; False when it was refused."""
    from heelstamp.casework.pitch import pitch_entry

    told = note_at(desk, take)
    if told["refused"] or told["data"]["refused"]:
        return False
    finding = listened(desk, take)
    state = desk.subject(tag).state
    quantity = f"pitch {finding.note}, recording {take.recording.id}"
    if not any(one.quantity == quantity for one in state.measurements.values()):
        body = pitch_entry(finding, state, take.recording.id, id_=id_)
        desk.enter(tag, [("measurement", body)], by=by)
    return True


def intonation_at(desk: OpenShop, pair: tuple[NoteTake, NoteTake]) -> dict[str, Any]:
    """Give the twelfth fret against the open string: ``row`` or None, or ``refused``."""
    asked = ["intonation", *(f"{one.recording.id} {one.recording.file} {one.note}" for one in pair)]

    def made() -> dict[str, Any]:
        from heelstamp.casework.recordings import cents_words
        from heelstamp.casework.pitch import intonation_of

        rows: tuple[IntonationFinding, ...] = intonation_of([listened(desk, one) for one in pair])
        row = rows[0].data() if rows else None
        return {"row": row, "cents": cents_words(row["cents"], row["cents_90"]) if row else ""}

    return _kept(desk, asked, made)


def noise_at(desk: OpenShop, control: ControlTakes, turns: float | None = None) -> dict[str, Any]:
    """Give what the takes of a control came to: ``data``, ``told``, ``picture``, or ``refused``.

    The later stage is judged, the earlier one stands beside it; *turns* of each take, each way one,
    where they cannot be heard.
    """
    stages = control.stages
    files = [control.takes[stage][take] for stage in stages for take in ("sweep", "still")]
    asked = ["noise", control.part, f"{turns}", *(f"{one.id} {one.file}" for one in files)]

    def made() -> dict[str, Any]:
        finding = _noise(desk, control, turns)
        return {
            "data": finding.data(),
            "told": [one.text for one in finding.statements()],
            "picture": "" if finding.refused else _noise_picture(finding),
        }

    return _kept(desk, asked, made)


def _noise(desk: OpenShop, control: ControlTakes, turns: float | None) -> NoiseFinding:
    from heelstamp.casework.control_noise import TakeFile, examine_noise
    from heelstamp.media.decoding import read_recording

    def file(stage: str, take: str) -> TakeFile:
        one = control.takes[stage][take]
        return TakeFile(desk.shop.files.get(one.file), one.id)

    last, *earlier = reversed(control.stages)
    before = earlier[0] if earlier else None
    return examine_noise(
        file(last, "sweep"),
        file(last, "still"),
        read=read_recording,
        turns=turns,
        before_turns=turns if before else None,
        switch=control.part == "switch",
        before=file(before, "sweep") if before else None,
        before_still=file(before, "still") if before else None,
    )


def _noise_picture(finding: NoiseFinding) -> str:
    from heelstamp.shop.noise_desk import picture

    return picture(finding)


def _kept(
    desk: OpenShop, asked: Sequence[str], make: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """Give a finding that is kept in the shop, or make and keep it; a refusal is kept with it."""
    import msgspec

    from heelstamp import __version__
    from heelstamp.archive import digest_of

    key = digest_of({"form": FORM, "program": __version__, "asked": list(asked)})
    kept = desk.shop.journals.findings([key]).get(key)
    if kept is None:
        try:
            told = {"refused": "", **make()}
        except InputError as error:
            told = {"refused": str(error)}
        kept = msgspec.json.encode(told)
        desk.shop.journals.keep_findings(asked[0], {key: kept})
    found: dict[str, Any] = msgspec.json.decode(kept)
    return found
