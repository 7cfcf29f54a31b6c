"""Intake: who hands it over, and may we open it? Custody, consent, climate, contents, receipt."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.intake import (
    ANSWERS,
    CLIMATE,
    SCALE_G,
    climate_entries,
    consent_entries,
    contents_entries,
    custody_entries,
    door_view,
    statement_entries,
)
from heelstamp.casework.public_words import marked
from heelstamp.casework.receipt import TAKEN_IN, receipt
from heelstamp.catalogue.bodies.observation import LINKS
from heelstamp.report.tag_code import tag_code_svg
from heelstamp.web.at_bench import AtBench
from heelstamp.web.paths import SCREENS
from heelstamp.web.rendering import drawn
from heelstamp.web.screens.intake.forms import Climate, Consent, Custody, Found, Said
from heelstamp.web.signed import told_head

router = APIRouter()
SCREEN = "intake"


@router.get("/dossier/{tag}/intake", response_class=HTMLResponse)
def intake(here: AtBench) -> HTMLResponse:
    """Show what may be done at intake now."""
    return here.page(
        "intake/intake.html",
        SCREEN,
        answers=ANSWERS,
        view=door_view(here.state, here.tree),
        links=LINKS,
        climate=CLIMATE,
        scale=SCALE_G,
        received=any(one.event in TAKEN_IN for one in here.state.custody.values()),
    )


@router.post("/dossier/{tag}/custody")
def custody(here: AtBench, told: Annotated[Custody, Form()]) -> Response:
    """Enter a change of custody."""
    here.enter(custody_entries(here.state, told.stamp("k"), **told.fields("screen")))
    return here.back(told.screen if told.screen in {one.key for one in SCREENS} else SCREEN)


@router.post("/dossier/{tag}/consent")
def consent(here: AtBench, told: Annotated[Consent, Form()]) -> Response:
    """Enter the owner's word on one act, or take it back."""
    here.enter(consent_entries(here.state, told.stamp("w"), **told.fields()))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/climate")
def climate(here: AtBench, told: Annotated[Climate, Form()]) -> Response:
    """Enter what was read in the case and in the room."""
    here.enter(climate_entries(here.state, told.stamp("m"), told.fields()))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/contents")
def contents(here: AtBench, told: Annotated[Found, Form()]) -> Response:
    """Enter a thing found in the case."""
    fields = told.fields("public") | {"frames": [one for one in told.frames if one]}
    here.enter(marked(contents_entries(here.state, told.stamp("n"), **fields), told.public))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/said")
def said(here: AtBench, told: Annotated[Said, Form()]) -> Response:
    """Enter what somebody says of the instrument."""
    entries = statement_entries(here.state, told.stamp("s"), **told.fields("public"))
    here.enter(marked(entries, told.public))
    return here.back(SCREEN)


@router.get("/dossier/{tag}/receipt", response_class=HTMLResponse)
def receipt_page(here: AtBench) -> HTMLResponse:
    """Show the receipt, ready to print and sign."""
    return here.page(
        "intake/receipt.html",
        SCREEN,
        receipt=receipt(here.state, here.tree),
        head=told_head(here.request, here.shop, here.tag),
        code=drawn(tag_code_svg(here.tag)),
    )
