"""Listing: three lengths of text, the photographs in their order, own words held against it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Path, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.listing.composing import LENGTHS, MOST, Listing, text_of
from heelstamp.errors import InputError
from heelstamp.shop.issuing import issued, issued_report
from heelstamp.shop.listing import PAPER, check_text, issue_listing, listing_at
from heelstamp.shop.reports import told_at
from heelstamp.shop.signing import sign_state
from heelstamp.web.at_bench import AtBench, Bench
from heelstamp.web.screens.listing.forms import Issue, Own

router = APIRouter()
SCREEN = "listing"
Digest = Annotated[str, Path(pattern="^[0-9a-f]{64}$")]


@router.get("/dossier/{tag}/listing", response_class=HTMLResponse)
def listing(here: AtBench, length: Annotated[str, Query(max_length=10)] = "middle") -> HTMLResponse:
    """Show the listing as it would be issued now."""
    return _page(here, length)


@router.post("/dossier/{tag}/listing/own", response_class=HTMLResponse)
def own(here: AtBench, told: Annotated[Own, Form()]) -> HTMLResponse:
    """Hold a text of the shop's own against the report; nothing is kept."""
    return _page(here, "middle", told.text)


@router.post("/dossier/{tag}/listing")
def issue(here: AtBench, told: Annotated[Issue, Form()]) -> Response:
    """Issue the listing: kept, and entered as a version."""
    issue_listing(here.shop, here.tag, id_=told.stamp("p").id, by=here.hand)
    return here.back(SCREEN)


@router.get("/dossier/{tag}/listing/{digest}.zip")
def kept(here: AtBench, digest: Digest) -> Response:
    """Send a listing that was issued, byte for byte."""
    headers = {
        "content-disposition": f'attachment; filename="{here.tag}-listing.zip"',
        "cache-control": "no-store",
    }
    data = issued_report(here.shop, here.tag, digest, report=False)
    return Response(data, media_type="application/zip", headers=headers)


def _page(here: Bench, length: str, own_text: str | None = None) -> HTMLResponse:
    chosen = next((one for one in LENGTHS if one == length), None)
    if chosen is None:
        raise InputError("no such length", received=length, remedy=", ".join(LENGTHS) + ".")
    found = listing_at(here.shop, here.tag)
    papers = [one for one in issued(here.shop, here.tag) if one.paper == PAPER]
    return here.page(
        "listing/listing.html",
        SCREEN,
        found=found,
        listing=found.listing,
        texts={one: text_of(found.listing, one) for one in LENGTHS},
        length=chosen,
        most=MOST,
        frames=_frames(here, found.listing),
        own_text=own_text,
        against=() if own_text is None else check_text(here.shop, here.tag, own_text),
        issued=papers,
        signed={one.digest: sign_state(here.shop, one.digest) for one in papers},
    )


def _frames(here: Bench, listing: Listing) -> dict[str, str]:
    """Id in the dossier of each photograph, by its name in what leaves."""
    source = told_at(here.shop, here.tag, "buyer").source
    named = {one for one, _ in listing.photographs}
    return {name: source.get(name, name) for name in named}
