"""Enquiries: who asks and what was said, who waits, who comes to see it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.shop import now
from heelstamp.shop.enquiries import answer_enquiry, enquiry_view, enter_enquiry, given_to
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.enquiries.forms import Answered, Said
from heelstamp.wording.about_enquiries import compare_frames, no_frames_after, not_examined

router = APIRouter()
SCREEN = "enquiries"
SHOTS = 12
"""Newest photographs that a viewing can name."""


@router.get("/dossier/{tag}/enquiries", response_class=HTMLResponse)
def enquiries(here: AtBench, to: Annotated[str, Query(max_length=400)] = "") -> HTMLResponse:
    """Show who asks; *to*: the answer to the oldest open question of one, from the findings."""
    view = enquiry_view(here.shop, here.tag)
    asked = next((one.open[0][2] for one in view.going_on if one.party == to and one.open), "")
    given = given_to(here.shop, here.tag, asked) if asked else None
    frames = [one.id for one in here.state.photographs.values()][-SHOTS:]
    return here.page(
        "enquiries/enquiries.html",
        SCREEN,
        view=view,
        today=now()[:10],
        currency=here.shop.currency,
        frames=tuple(reversed(frames)),
        to=to if asked else "",
        given=given,
        not_examined=not_examined.say(),
        told_after=_told_after,
    )


@router.post("/dossier/{tag}/enquiries/said")
def said(here: AtBench, told: Annotated[Said, Form()]) -> Response:
    """Enter one thing of a talk."""
    enter_enquiry(here.shop, here.tag, told.stamp("n"), told.fields(), by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/enquiries/answered")
def answered(here: AtBench, told: Annotated[Answered, Form()]) -> Response:
    """Answer the oldest open question of an enquirer from the findings."""
    answer_enquiry(here.shop, here.tag, told.stamp("n"), told.party, by=here.hand)
    return here.back(SCREEN)


def _told_after(party: str, day: str, before: int, after: int) -> str:
    if not after:
        return no_frames_after.say(party=party, day=day)
    return compare_frames.say(before=before, after=after)
