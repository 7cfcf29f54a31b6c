"""Recordings: a plucked note and its pitch, a control's noise, spoken notes, and playing them."""

from __future__ import annotations

import re
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.pitch.entry import entered_pitches
from heelstamp.casework.recordings import (
    FRETS,
    STAGES,
    TAKE_STAGES,
    TAKES,
    control_takes,
    crackle_entries,
    following,
    intonation_entries,
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
from heelstamp.web.at_bench import AtBench, Bench
from heelstamp.web.paths import SCREENS
from heelstamp.web.rendering import drawn
from heelstamp.web.screens.recordings.forms import (
    Crackle,
    Intonation,
    Note,
    Pitch,
    Sound,
    Take,
    Voice,
)

router = APIRouter()
SCREEN = "setup"
LISTENED = 12
"""Recorded notes whose finding is shown at once, the newest first."""
_RANGE = re.compile(r"bytes=(\d{0,12})-(\d{0,12})")


@router.get("/dossier/{tag}/setup/note", response_class=HTMLResponse)
def notes(
    here: AtBench,
    string: Annotated[int, Query(ge=1, le=12)] = 1,
    fret: Annotated[int, Query(ge=0, le=12)] = 0,
    stage: Annotated[str, Query(max_length=10)] = "found",
) -> HTMLResponse:
    """Show the recorded notes with their pitch, and the next note to record."""
    takes = note_takes(here.state)
    found = [(one, note_told(here.shop, one)) for one in takes[:LISTENED]]
    return here.page(
        "recordings/note.html",
        SCREEN,
        at="note",
        ways=ways_at(here.shop, here.tag),
        strings=strings_of(here.state, here.tree),
        frets=FRETS,
        stages=STAGES,
        string=string,
        fret=fret if fret in FRETS else 0,
        stage=stage if stage in STAGES else "found",
        pairs=[(pair, intonation_told(here.shop, pair)) for pair in note_pairs(takes)],
        earlier=takes[LISTENED:],
        found=[(one, told, drawn(told.get("picture", ""))) for one, told in found],
        entered=entered_pitches(here.state),
    )


@router.post("/dossier/{tag}/note")
def note(here: AtBench, told: Annotated[Note, Form()]) -> Response:
    """Keep a recorded note, listen to it, and enter its pitch unless it is refused."""
    details = note_details(
        here.state,
        here.tree,
        told.stamp("r"),
        name=told.sound.filename or "",
        note=told.name,
        **told.fields("sound", "name"),
    )
    _keep(here, told, details)
    kept = note_at(here.shop, here.tag, str(details["id"]))
    string, fret = told.string, told.fret
    if enter_note(here.shop, here.tag, kept, id_=f"{kept.recording.id}.pitch", by=here.hand):
        string, fret = following(kept, string_count(here.tree))
    return here.back(f"{SCREEN}/note", string=str(string), fret=str(fret), stage=told.stage)


@router.post("/dossier/{tag}/pitch")
def pitch(here: AtBench, told: Annotated[Pitch, Form()]) -> Response:
    """Enter the pitch of a recorded note that has none."""
    kept = note_at(here.shop, here.tag, told.recording)
    if not enter_note(here.shop, here.tag, kept, id_=told.stamp("m").id, by=here.hand):
        raise InputError(
            "a refused note is not entered", where=told.recording, remedy="Record it anew."
        )
    return here.back(f"{SCREEN}/note")


@router.post("/dossier/{tag}/intonation")
def intonation(here: AtBench, told: Annotated[Intonation, Form()]) -> Response:
    """Enter the intonation of a string from its two recorded notes."""
    wanted = (told.open_note, told.fretted)
    pair = next(
        (
            (first, second)
            for first, second in note_pairs(note_takes(here.state))
            if (first.recording.id, second.recording.id) == wanted
        ),
        None,
    )
    row = None if pair is None else intonation_told(here.shop, pair).get("row")
    if pair is None or row is None:
        raise InputError(
            "no intonation to enter",
            received=", ".join(wanted),
            remedy="Record the open string and its 12th fret at one stage.",
        )
    entries = intonation_entries(
        here.state,
        told.stamp("m"),
        string=pair[0].string,
        stage=pair[0].recording.stage,
        cents=row["cents"],
        uncertainty=row["uncertainty"],
        rests_on=wanted,
    )
    here.enter(entries)
    return here.back(f"{SCREEN}/note")


@router.get("/dossier/{tag}/setup/controls", response_class=HTMLResponse)
def controls(
    here: AtBench,
    part: Annotated[str, Query(max_length=40)] = "",
    turns: Annotated[float | None, Query(ge=1, le=200, allow_inf_nan=False)] = None,
) -> HTMLResponse:
    """Show the takes of each control, and what they came to."""
    every = control_takes(here.state, here.tree)
    usual = next((one for one in every if one.takes), every[0] if every else None)
    chosen = next((one for one in every if one.part == part), usual)
    told = control_told(here.shop, chosen, turns) if chosen and chosen.stages else None
    return here.page(
        "recordings/controls.html",
        SCREEN,
        at="controls",
        ways=ways_at(here.shop, here.tag),
        controls=every,
        chosen=chosen,
        takes=TAKES,
        stages=TAKE_STAGES,
        told=told,
        turns=turns,
        picture=drawn(told.get("picture", "")) if told else "",
    )


@router.post("/dossier/{tag}/take")
def take(here: AtBench, told: Annotated[Take, Form()]) -> Response:
    """Keep a take of a control, swept or at rest."""
    name = told.sound.filename or ""
    fields = told.fields("sound")
    _keep(here, told, take_details(here.tree, told.stamp("r"), name=name, **fields))
    return here.back(f"{SCREEN}/controls", part=told.part)


@router.post("/dossier/{tag}/crackle")
def crackle(here: AtBench, told: Annotated[Crackle, Form()]) -> Response:
    """Enter the events a turn of a control at one stage."""
    every = control_takes(here.state, here.tree)
    control = next((one for one in every if one.part == told.part), None)
    if control is None or told.stage not in control.stages:
        raise InputError(
            "no takes to count",
            received=f"{told.part}, {told.stage}",
            remedy="Record five sweeps, and the control at rest.",
        )
    data = control_told(here.shop, control, told.turns).get("data") or {}
    judged = data if told.stage == control.stages[-1] else data.get("before") or {}
    entries = crackle_entries(
        here.state,
        told.stamp("m"),
        part=told.part,
        stage=told.stage,
        per_turn=judged.get("per_turn"),
        interval=judged.get("per_turn_90"),
        rests_on=[control.takes[told.stage][take].id for take in ("sweep", "still")],
        digest=data.get("digest", ""),
    )
    here.enter(entries)
    return here.back(f"{SCREEN}/controls", part=told.part)


@router.get("/dossier/{tag}/voice", response_class=HTMLResponse)
def voices(here: AtBench) -> HTMLResponse:
    """List the spoken notes, to be played."""
    names = {one.key: one.name for one in SCREENS}
    said = spoken(here.state, names, here.tree)
    return here.page("recordings/voice.html", "voice", spoken=said)


@router.post("/dossier/{tag}/voice")
def voice(here: AtBench, told: Annotated[Voice, Form()]) -> Response:
    """Keep a spoken note with the screen and part it was made on."""
    name = told.sound.filename or ""
    details = voice_details(here.tree, told.stamp("r"), name=name, **told.fields("sound"))
    _keep(here, told, details, spoken=True)
    return here.back("voice")


@router.get("/dossier/{tag}/sound/{recording}")
def sound(here: AtBench, recording: str) -> Response:
    """Send a recording, whole or the range that a player asks for (RFC 9110, 14.2)."""
    one = recording_at(here.shop, here.tag, recording)
    headers = {
        "etag": f'"{one.file[:32]}"',
        "accept-ranges": "bytes",
        "cache-control": "private, max-age=31536000, immutable",
    }
    data = here.shop.files.get(one.file)
    asked = _RANGE.fullmatch(here.request.headers.get("range", ""))
    if asked is None or not (asked[1] or asked[2]):
        return Response(data, media_type=one.media_type, headers=headers)
    first = int(asked[1]) if asked[1] else max(0, len(data) - int(asked[2]))
    last = min(int(asked[2]), len(data) - 1) if asked[1] and asked[2] else len(data) - 1
    if first > last:
        return Response(status_code=416, headers={"content-range": f"bytes */{len(data)}"})
    headers["content-range"] = f"bytes {first}-{last}/{len(data)}"
    return Response(data[first : last + 1], 206, headers, one.media_type)


def _keep(here: Bench, told: Sound, details: dict[str, Any], *, spoken: bool = False) -> None:
    data = told.sound.file.read()
    keep_recording(here.shop, here.tag, data, details, by=here.hand, spoken=spoken)
