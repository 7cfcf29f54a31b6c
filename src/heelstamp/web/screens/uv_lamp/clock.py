"""The dose clock of the lamp: what irradiance, lamp on, lamp off."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from heelstamp.casework.dose_clock import irradiance_acts, off_acts, on_acts
from heelstamp.web.forms import Id, Made, Word, back, slip
from heelstamp.web.rendering import desk_of, hand_of

router = APIRouter()
SCREEN = "uv-lamp"


@router.post("/dossier/{tag}/uv-lamp/irradiance")
def irradiance(
    request: Request,
    tag: str,
    level: Annotated[float, Form(allow_inf_nan=False)],
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter the irradiance at the eyes."""
    desk = desk_of(request)
    acts = irradiance_acts(desk.subject(tag).state, slip("m", id, made), level)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/uv-lamp/switch")
def switch(
    request: Request,
    tag: str,
    to: Word,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Turn the clock on or off."""
    desk = desk_of(request)
    state, told = desk.subject(tag).state, slip("t", id, made)
    desk.enter(tag, (on_acts if to == "on" else off_acts)(state, told), by=hand_of(request))
    return back(tag, SCREEN)
