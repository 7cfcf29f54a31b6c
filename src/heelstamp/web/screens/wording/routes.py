"""Wording: every sentence of the report with its frames; a weaker word freely."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.papers.chosen_words import choices_of
from heelstamp.casework.wording_choice import groups, word_entries
from heelstamp.shop.reports import computed_words, document_at
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.wording.forms import Choice
from heelstamp.wording.banned import find_banned

router = APIRouter()
SCREEN = "wording"


@router.get("/dossier/{tag}/wording", response_class=HTMLResponse)
def wording(here: AtBench, own: Annotated[str, Query(max_length=4000)] = "") -> HTMLResponse:
    """Show the sentences of the shop's copy; of *own* words those that no report may carry."""
    document = document_at(here.shop, here.tag, "shop")
    return here.page(
        "wording/wording.html",
        SCREEN,
        groups=groups(document, computed_words(here.shop, here.tag), choices_of(here.state)),
        own=own,
        banned=find_banned(own),
    )


@router.post("/dossier/{tag}/word")
def word(here: AtBench, told: Annotated[Choice, Form()]) -> Response:
    """Let another word stand in a sentence."""
    computed = computed_words(here.shop, here.tag)
    here.enter(word_entries(here.state, told.stamp("d"), computed, **told.fields()))
    return here.back(SCREEN)
