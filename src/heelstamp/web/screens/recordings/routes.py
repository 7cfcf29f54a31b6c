"""Recordings: a plucked note and its pitch, a control's noise, spoken notes, and playing them."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import APIRouter, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.pitch.entry import entered_pitches
from heelstamp.casework.recordings import (
    FRETS,
    STAGES,
    TAKE_STAGES,
    TAKES,
    control_takes,
    crackle_acts,
    following,
    intonation_acts,
    note_details,
    note_pairs,
    note_takes,
    spoken,
    strings_of,
    take_details,
    voice_details,
)
from heelstamp.casework.setup.measures import string_count
from heelstamp.errors import InputError
from heelstamp.shop.recordings import (
    control_told,
    enter_note,
    intonation_told,
    keep_recording,
    note_at,
    note_told,
    recording_at,
)
from heelstamp.shop.setup import ways_at
from heelstamp.web.forms import Id, Made, Word, back, slip
from heelstamp.web.paths import SCREENS, screen_path
from heelstamp.web.rendering import desk_of, drawn, hand_of, page

router = APIRouter()
SCREEN = "setup"
LISTENED = 12
"""Recorded notes whose finding is shown at once, the newest first."""
_RANGE = re.compile(r"bytes=(\d{0,12})-(\d{0,12})")


@router.get("/dossier/{tag}/setup/note", response_class=HTMLResponse)
def notes(
    request: Request,
    tag: str,
    string: Annotated[int, Query(ge=1, le=12)] = 1,
    fret: Annotated[int, Query(ge=0, le=12)] = 0,
    stage: Annotated[str, Query(max_length=10)] = "found",
) -> HTMLResponse:
    """Show the recorded notes with their pitch, and the next note to record."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    takes = note_takes(subject.state)
    found = [(one, note_told(desk, one)) for one in takes[:LISTENED]]
    pairs = [(pair, intonation_told(desk, pair)) for pair in note_pairs(takes)]
    return page(
        request,
        "recordings/note.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        at="note",
        ways=ways_at(desk, tag),
        strings=strings_of(subject.state, subject.tree),
        frets=FRETS,
        stages=STAGES,
        string=string,
        fret=fret if fret in FRETS else 0,
        stage=stage if stage in STAGES else "found",
        pairs=pairs,
        earlier=takes[LISTENED:],
        found=[(one, told, drawn(told.get("picture", ""))) for one, told in found],
        entered=entered_pitches(subject.state),
    )


@router.post("/dossier/{tag}/note")
def note(
    request: Request,
    tag: str,
    sound: Annotated[UploadFile, File()],
    string: Annotated[int, Form(ge=1, le=12)],
    fret: Annotated[int, Form(ge=0, le=12)] = 0,
    stage: Word = "found",
    name: Word = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Keep a recorded note, listen to it, and enter its pitch unless it is refused."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    details = note_details(
        subject.state,
        subject.tree,
        slip("r", id, made),
        name=sound.filename or "",
        string=string,
        fret=fret,
        stage=stage,
        note=name,
    )
    keep_recording(desk, tag, sound.file.read(), details, by=hand_of(request))
    kept = note_at(desk, tag, str(details["id"]))
    if enter_note(desk, tag, kept, id_=f"{kept.recording.id}.pitch", by=hand_of(request)):
        string, fret = following(kept, string_count(subject.tree))
    return back(tag, f"{SCREEN}/note", string=str(string), fret=str(fret), stage=stage)


@router.post("/dossier/{tag}/pitch")
def pitch(
    request: Request,
    tag: str,
    recording: Id,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the pitch of a recorded note that has none."""
    desk = desk_of(request)
    kept = note_at(desk, tag, recording)
    if not enter_note(desk, tag, kept, id_=slip("m", id, made).id, by=hand_of(request)):
        raise InputError("a refused note is not entered", where=recording, remedy="Record it anew.")
    return back(tag, f"{SCREEN}/note")


@router.post("/dossier/{tag}/intonation")
def intonation(
    request: Request,
    tag: str,
    open_note: Id,
    fretted: Id,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the intonation of a string from its two recorded notes."""
    desk = desk_of(request)
    state = desk.subject(tag).state
    pair = next(
        (
            one
            for one in note_pairs(note_takes(state))
            if (one[0].recording.id, one[1].recording.id) == (open_note, fretted)
        ),
        None,
    )
    row = None if pair is None else intonation_told(desk, pair).get("row")
    if pair is None or row is None:
        raise InputError(
            "no intonation to enter",
            received=f"{open_note}, {fretted}",
            remedy="Record the open string and its 12th fret at one stage.",
        )
    acts = intonation_acts(
        state,
        slip("m", id, made),
        string=pair[0].string,
        stage=pair[0].recording.stage,
        cents=row["cents"],
        uncertainty=row["uncertainty"],
        rests_on=(open_note, fretted),
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, f"{SCREEN}/note")


@router.get("/dossier/{tag}/setup/controls", response_class=HTMLResponse)
def controls(
    request: Request,
    tag: str,
    part: Annotated[str, Query(max_length=40)] = "",
    turns: Annotated[float | None, Query(ge=1, le=200, allow_inf_nan=False)] = None,
) -> HTMLResponse:
    """Show the takes of each control, and what they came to."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    every = control_takes(subject.state, subject.tree)
    usual = next((one for one in every if one.takes), every[0] if every else None)
    chosen = next((one for one in every if one.part == part), usual)
    told = control_told(desk, chosen, turns) if chosen and chosen.stages else None
    return page(
        request,
        "recordings/controls.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        at="controls",
        ways=ways_at(desk, tag),
        controls=every,
        chosen=chosen,
        takes=TAKES,
        stages=TAKE_STAGES,
        told=told,
        turns=turns,
        picture=drawn(told.get("picture", "")) if told else "",
    )


@router.post("/dossier/{tag}/take")
def take(
    request: Request,
    tag: str,
    sound: Annotated[UploadFile, File()],
    part: Word,
    take: Word,
    stage: Word = "found",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep a take of a control, swept or at rest."""
    desk = desk_of(request)
    details = take_details(
        desk.subject(tag).tree,
        slip("r", id, made),
        name=sound.filename or "",
        part=part,
        take=take,
        stage=stage,
    )
    keep_recording(desk, tag, sound.file.read(), details, by=hand_of(request))
    return back(tag, f"{SCREEN}/controls", part=part)


@router.post("/dossier/{tag}/crackle")
def crackle(
    request: Request,
    tag: str,
    part: Word,
    stage: Word,
    turns: Annotated[float | None, Form(ge=1, le=200, allow_inf_nan=False)] = None,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the events a turn of a control at one stage."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    control = next(
        (one for one in control_takes(subject.state, subject.tree) if one.part == part), None
    )
    if control is None or stage not in control.stages:
        raise InputError(
            "no takes to count",
            received=f"{part}, {stage}",
            remedy="Record five sweeps, and the control at rest.",
        )
    data = control_told(desk, control, turns).get("data") or {}
    judged = data if stage == control.stages[-1] else data.get("before") or {}
    acts = crackle_acts(
        subject.state,
        slip("m", id, made),
        part=part,
        stage=stage,
        per_turn=judged.get("per_turn"),
        interval=judged.get("per_turn_90"),
        rests_on=[control.takes[stage][take].id for take in ("sweep", "still")],
        digest=data.get("digest", ""),
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, f"{SCREEN}/controls", part=part)


@router.get("/dossier/{tag}/voice", response_class=HTMLResponse)
def voices(request: Request, tag: str) -> HTMLResponse:
    """List the spoken notes, to be played."""
    subject = desk_of(request).subject(tag)
    names = {one.key: one.name for one in SCREENS}
    return page(
        request,
        "recordings/voice.html",
        tag=tag,
        screen="voice",
        subject=subject,
        spoken=spoken(subject.state, names, subject.tree),
    )


@router.post("/dossier/{tag}/voice")
def voice(
    request: Request,
    tag: str,
    sound: Annotated[UploadFile, File()],
    screen: Word = "",
    part: Word = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep a spoken note with the screen and part it was made on."""
    desk = desk_of(request)
    details = voice_details(
        desk.subject(tag).tree,
        slip("r", id, made),
        name=sound.filename or "",
        screen=screen,
        part=part,
    )
    keep_recording(desk, tag, sound.file.read(), details, by=hand_of(request), spoken=True)
    return RedirectResponse(screen_path(tag, "voice"), 303)


@router.get("/dossier/{tag}/sound/{recording}")
def sound(request: Request, tag: str, recording: str) -> Response:
    """Give a recording, whole or the range that a player asks for (RFC 9110, 14.2)."""
    desk = desk_of(request)
    one = recording_at(desk, tag, recording)
    headers = {
        "etag": f'"{one.file[:32]}"',
        "accept-ranges": "bytes",
        "cache-control": "private, max-age=31536000, immutable",
    }
    data = desk.files.get(one.file)
    asked = _RANGE.fullmatch(request.headers.get("range", ""))
    if asked is None or not (asked[1] or asked[2]):
        return Response(data, media_type=one.media_type, headers=headers)
    first = int(asked[1]) if asked[1] else max(0, len(data) - int(asked[2]))
    last = min(int(asked[2]), len(data) - 1) if asked[1] and asked[2] else len(data) - 1
    if first > last:
        return Response(status_code=416, headers={"content-range": f"bytes */{len(data)}"})
    headers["content-range"] = f"bytes {first}-{last}/{len(data)}"
    return Response(data[first : last + 1], 206, headers, one.media_type)
