"""Names that are kept: of whom, why, until when; erased by the owner."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.persons import RETENTION
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import role_of
from heelstamp.shop import now
from heelstamp.shop.persons import (
    erase_person,
    keep_longer,
    keep_retention,
    persons_kept,
    retention_of,
)
from heelstamp.web.rendering import hand_of, page, shop_of
from heelstamp.web.screens.persons.forms import Erased, KeptFor, Longer
from heelstamp.wording.about_persons import erased as erased_told
from heelstamp.wording.about_persons import in_backups

router = APIRouter()
WHOSE = {
    "enquirer": "Who asked: name and address",
    "buyer": "Who bought: name and address",
    "owner": "Who owned it: name and address",
}


@router.get("/persons", response_class=HTMLResponse)
def persons(request: Request) -> HTMLResponse:
    """Show the names that are kept, and those whose time is over."""
    shop = shop_of(request)
    return page(
        request,
        "persons/persons.html",
        screen="persons",
        kept=persons_kept(shop),
        today=now()[:10],
        erased_told=lambda role, day: erased_told.say(role=role, day=day),
        in_backups=in_backups.say(),
        retention=retention_of(shop),
        usual=RETENTION,
        owns=role_of(hand_of(request)).may(Role.OWNER),
        what=WHOSE,
    )


@router.post("/persons/retention")
def retention(request: Request, told: Annotated[KeptFor, Form()]) -> Response:
    """Set how long names are kept, and why."""
    keep_retention(shop_of(request), told.rows, by=hand_of(request))
    return RedirectResponse("/persons", 303)


@router.post("/persons/erased")
def erased(request: Request, told: Annotated[Erased, Form()]) -> Response:
    """Erase a name."""
    erase_person(shop_of(request), told.person, day=now()[:10], by=hand_of(request))
    return RedirectResponse("/persons", 303)


@router.post("/persons/longer")
def longer(request: Request, told: Annotated[Longer, Form()]) -> Response:
    """Keep a name until another day."""
    shop, hand = shop_of(request), hand_of(request)
    keep_longer(shop, told.person, until=told.until, reason=told.reason, by=hand)
    return RedirectResponse("/persons", 303)
