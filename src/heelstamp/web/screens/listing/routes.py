"""Listing: three lengths of text, the photographs in their order, own words held against it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Path, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.listing.composing import LENGTHS, MOST, Listing, text_of
from heelstamp.casework.listing.showing import release_entries, sounds_of
from heelstamp.errors import InputError
from heelstamp.shop.issuing import issued, issued_report
from heelstamp.shop.listing import PAPER as LISTING
from heelstamp.shop.listing import check_text, issue_listing, listing_at
from heelstamp.shop.reports import told_at
from heelstamp.shop.showing import KIND, issue_showing, preview_showing
from heelstamp.shop.showing import PAPER as SHOWING
from heelstamp.shop.signing import sign_state
from heelstamp.web.at_bench import AtBench, Bench
from heelstamp.web.screens.listing.forms import Issue, Own, Release

router = APIRouter()
SCREEN = "listing"
ISSUED = {LISTING: issue_listing, SHOWING: issue_showing}
"""What is issued here, by the name of the paper."""
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
    """Issue the listing or the showing page: kept, and entered as a version."""
    if told.paper not in ISSUED:
        raise InputError("no such paper", received=told.paper, remedy=", ".join(ISSUED) + ".")
    ISSUED[told.paper](here.shop, here.tag, id_=told.stamp("p").id, by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/listing/sound")
def sound(here: AtBench, told: Annotated[Release, Form()]) -> Response:
    """Let a recording be heard outside, or keep it."""
    here.enter(release_entries(here.state, told.stamp("c"), told.recording, told.public))
    return here.back(SCREEN)


@router.get("/dossier/{tag}/listing/preview.html")
def preview(here: AtBench) -> Response:
    """Send the showing page as it would be issued now, to be opened by itself."""
    return _file(preview_showing(here.shop, here.tag), "text/html", f"{here.tag}-preview.html")


@router.get("/dossier/{tag}/listing/{digest}.zip")
def kept(here: AtBench, digest: Digest) -> Response:
    """Send a listing that was issued, byte for byte."""
    data = issued_report(here.shop, here.tag, digest, report=False)
    return _file(data, "application/zip", f"{here.tag}-listing.zip")


@router.get("/dossier/{tag}/listing/{digest}.html")
def kept_page(here: AtBench, digest: Digest) -> Response:
    """Send a showing page that was issued, byte for byte, to be opened by itself."""
    data = issued_report(here.shop, here.tag, digest, report=False)
    return _file(data, KIND, f"{here.tag}-showing.html")


def _file(data: bytes, kind: str, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}
    return Response(data, media_type=kind, headers=headers)


def _page(here: Bench, length: str, own_text: str | None = None) -> HTMLResponse:
    chosen = next((one for one in LENGTHS if one == length), None)
    if chosen is None:
        raise InputError("no such length", received=length, remedy=", ".join(LENGTHS) + ".")
    found = listing_at(here.shop, here.tag)
    papers = [one for one in issued(here.shop, here.tag) if one.paper in ISSUED]
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
        endings={LISTING: "zip", SHOWING: "html"},
        released={one.recording for one in sounds_of(here.state, here.subject.tree)},
        sounds=sounds_of(here.state, here.subject.tree, released=False),
        signed={one.digest: sign_state(here.shop, one.digest) for one in papers},
    )


def _frames(here: Bench, listing: Listing) -> dict[str, str]:
    """Id in the dossier of each photograph, by its name in what leaves."""
    source = told_at(here.shop, here.tag, "buyer").source
    named = {one for one, _ in listing.photographs}
    return {name: source.get(name, name) for name in named}
