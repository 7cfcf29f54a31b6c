"""Entering: one tap or one form is one entry; the last entry of this hand can be taken back."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.looking import Look, look_acts
from heelstamp.casework.taking_back import putting_back, taking_back
from heelstamp.shop import now
from heelstamp.web.forms import back, new_id
from heelstamp.web.paths import screen_path
from heelstamp.web.rendering import desk_of, hand_of, page, partial
from heelstamp.web.screens.first_look.routes import look

router = APIRouter()


@router.post("/dossier/{tag}/seen", response_class=HTMLResponse)
def seen(
    request: Request,
    tag: str,
    part: Annotated[str, Form(max_length=40)],
    kind: Annotated[str, Form(max_length=20)],
    status: Annotated[str, Form(max_length=20)],
    subject: Annotated[str, Form(max_length=100)] = "",
    value: Annotated[str, Form(max_length=400)] = "",
    id: Annotated[str, Form(max_length=64)] = "",  # noqa: A002 - the field's name
    base: Annotated[str, Form(pattern=r"^[0-9]{0,9}$")] = "",
    made: Annotated[str, Form(max_length=40)] = "",
    shown: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """Enter what was seen of a part; an answer that stands is corrected, and both stay.

    Parameters
    ----------
    id
        Given by the device, so that what is sent twice is entered once.
    base
        Length of the journal when the question was shown: an answer entered since, by another
        device, is not written over unseen.
    made
        When the device took the entry, if it could not be sent then.
    shown
        The part whose questions are shown, where the answer belongs to another.
    """
    desk = desk_of(request)
    look_made = Look(part, kind, status, subject, value, id or new_id("o"), made)
    acts = look_acts(desk.subject(tag).state, look_made, base=int(base) if base else None, at=now())
    desk.enter(tag, acts, by=hand_of(request))
    if partial(request):
        return page(
            request,
            "first_look/part.html",
            **look(desk.subject(tag), shown or part, hand_of(request)),
        )
    return RedirectResponse(f"{screen_path(tag, 'first-look')}?part={shown or part}", 303)


@router.post("/dossier/{tag}/undo", response_class=HTMLResponse)
def undo(
    request: Request,
    tag: str,
    part: Annotated[str, Form(max_length=40)] = "",
    screen: Annotated[str, Form(max_length=20)] = "first-look",
) -> Response:
    """Take the last entry of this hand that stands back: it stays in the journal, withdrawn.

    Pressed again it takes back the one before, not the taking back.
    """
    desk, hand = desk_of(request), hand_of(request)
    last, acts = taking_back(desk.subject(tag).state, hand, new_id("c"))
    desk.enter(tag, acts, by=hand)
    if partial(request) and part:
        return page(
            request, "first_look/part.html", **look(desk.subject(tag), part, hand_of(request))
        )
    return back(tag, screen, part=part, taken=last)


@router.post("/dossier/{tag}/put-back", response_class=HTMLResponse)
def put_back(
    request: Request,
    tag: str,
    taken: Annotated[str, Form(max_length=64)],
    screen: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Let an entry stand again that this hand took back: the withdrawal is withdrawn."""
    shop, hand = desk_of(request), hand_of(request)
    shop.enter(tag, putting_back(shop.subject(tag).state, hand, taken, new_id("c")), by=hand)
    return back(tag, screen)
