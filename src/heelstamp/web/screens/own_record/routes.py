"""Own record: what the shop had said, held against what became known later."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.feature_names import part_label
from heelstamp.casework.own_record import DATE, PART
from heelstamp.casework.papers.own_record_section import own_record_section
from heelstamp.catalogue import LaterKnown
from heelstamp.shop.own_record import later_known, record_of
from heelstamp.web.at_bench import AtBench
from heelstamp.web.rendering import page, shop_of
from heelstamp.web.screens.own_record.forms import Later

router = APIRouter()
SCREEN = "later"


@router.get("/own-record", response_class=HTMLResponse)
def own_record(request: Request) -> HTMLResponse:
    """Show how often what was said turned out so."""
    section = own_record_section(record_of(shop_of(request)))
    return page(request, "own_record/own_record.html", screen="own record", section=section)


@router.get("/dossier/{tag}/later", response_class=HTMLResponse)
def later(here: AtBench) -> HTMLResponse:
    """Show what became known of an instrument, and ask for more."""
    finding = here.shop.finding(here.tag).data()
    kept = here.state.of(LaterKnown).values()
    named = {f"{PART}{key}": part_label(here.tree, key) for key in finding["parts"]}
    return here.page(
        "own_record/later.html", SCREEN, kept=kept, named={DATE: "the date of completion"} | named
    )


@router.post("/dossier/{tag}/later")
def enter_later(here: AtBench, told: Annotated[Later, Form()]) -> Response:
    """Enter what became known, beside what had been said of it."""
    entry = later_known(
        here.shop,
        here.tag,
        told.about,
        source=told.source,
        original=told.original,
        months=told.months,
        id_=told.stamp("later").id,
    )
    here.enter([entry])
    return here.back(SCREEN)
