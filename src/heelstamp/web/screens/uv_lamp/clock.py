"""The dose clock of the UV lamp: what irradiance, lamp on, lamp off."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from heelstamp.casework.dose_clock import irradiance_entries, off_entries, on_entries
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.uv_lamp.forms import Irradiance, Switch

router = APIRouter()
SCREEN = "uv-lamp"


@router.post("/dossier/{tag}/uv-lamp/irradiance")
def irradiance(here: AtBench, told: Annotated[Irradiance, Form()]) -> Response:
    """Enter the irradiance at the eyes."""
    here.enter(irradiance_entries(here.state, told.stamp("m"), told.level))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/uv-lamp/switch")
def switch(here: AtBench, told: Annotated[Switch, Form()]) -> Response:
    """Turn the clock on or off."""
    here.enter((on_entries if told.to == "on" else off_entries)(here.state, told.stamp("t")))
    return here.back(SCREEN)
