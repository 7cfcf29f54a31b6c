"""What is learned together with other shops: tables handed out, taken, joined; sums under masks.

Files go from hand to hand: nothing is sent from here. What is handed out is kept with what it rests
on before the browser gets it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.federation.summary import LARGEST
from heelstamp.errors import HeelstampError
from heelstamp.shop.federation import give, take
from heelstamp.shop.joined_tables import begin_joining
from heelstamp.shop.known_shops import forget, know
from heelstamp.shop.makers import kept_at, present
from heelstamp.shop.masked_sums import add_sum, enter_sum, mask_sum
from heelstamp.web.rendering import page, shop_of
from heelstamp.web.screens.other_shops.forms import (
    Entered,
    Forgotten,
    Given,
    Joined,
    Known,
    Masked,
    Summed,
    Taken,
)
from heelstamp.web.screens.other_shops.view import other_shops_view, taken_sentence

router = APIRouter()
Done = Annotated[str, Query(max_length=200)]
PATIENCE_S = 2.0
"""A form waits so long for the joining; what takes longer is waited for on the page."""


@router.get("/maker/{name}/shops", response_class=HTMLResponse)
def other_shops(request: Request, name: str, done: Done = "") -> HTMLResponse:
    """Show who is known, what is here of them, and what may be handed out."""
    return _page(request, name, [done] if done else [])


@router.post("/maker/{name}/shops/know")
def known(request: Request, name: str, told: Annotated[Known, Form()]) -> Response:
    """Enter the key of another shop."""
    know(shop_of(request), told.key, told.called)
    return _back(name, f"{' '.join(told.called.split())} is known by its key")


@router.post("/maker/{name}/shops/forget")
def forgotten(request: Request, name: str, told: Annotated[Forgotten, Form()]) -> Response:
    """No longer know a shop."""
    called = forget(shop_of(request), told.key)
    return _back(name, f"{called} is no longer known; join again to learn without it")


@router.post("/maker/{name}/shops/take")
def taken(request: Request, name: str, told: Annotated[Taken, Form()]) -> Response:
    """Take tables of other shops, each whole or not at all."""
    shop = shop_of(request)
    present(shop, name)
    done, refused = [], []
    for where, data in _read(told.files).items():
        try:
            done.append(taken_sentence(take(shop, data, where)))
        except HeelstampError as error:
            refused.append(str(error))
    return _page(request, name, done, refused)


@router.post("/maker/{name}/shops/give")
def given(request: Request, name: str, told: Annotated[Given, Form()]) -> Response:
    """Make tables to be handed out, and give them to the browser."""
    gave = give(shop_of(request), name, gathered=told.gathered)
    return _file(gave.data, f"{name}-tables-{gave.made.tables.number}.json")


@router.post("/maker/{name}/shops/join")
def joined(request: Request, name: str, told: Annotated[Joined, Form()]) -> Response:
    """Begin to join tables; nothing is written."""
    shop = shop_of(request)
    job = begin_joining(shop, name, edition=told.edition, without=told.without)
    job = shop.jobs.wait(job, PATIENCE_S)
    return RedirectResponse(f"/maker/{quote(name)}/work/{job.key}", 303)


@router.post("/maker/{name}/shops/sum/enter")
def entered(request: Request, name: str, told: Annotated[Entered, Form()]) -> Response:
    """Take part in a sum under masks."""
    data = enter_sum(shop_of(request), name, told.sum)
    return _file(data, f"{name}-{told.sum}-entry.json")


@router.post("/maker/{name}/shops/sum/mask")
def masked(request: Request, name: str, told: Annotated[Masked, Form()]) -> Response:
    """Mask this shop's tables against the entries of all others."""
    data = mask_sum(shop_of(request), name, told.sum, _read(told.files), shops=told.shops)
    return _file(data, f"{name}-{told.sum}-part.json")


@router.post("/maker/{name}/shops/sum/add")
def added(request: Request, name: str, told: Annotated[Summed, Form()]) -> Response:
    """Add the parts of all shops of a sum."""
    done = add_sum(shop_of(request), name, told.sum, _read(told.files))
    told_ = f"the sum {told.sum} of {done.shops} shops, {len(done.features)} change-overs"
    return _back(name, told_)


def _page(
    request: Request, name: str, done: Sequence[str], refused: Sequence[str] = ()
) -> HTMLResponse:
    shop = shop_of(request)
    return page(
        request,
        "other_shops/other_shops.html",
        status=422 if refused else 200,
        kept=kept_at(shop, name),
        done=done,
        refused=refused,
        **other_shops_view(shop, name),
    )


def _read(files: Sequence[UploadFile]) -> dict[str, bytes]:
    """Bytes of the files that were sent, by name; equal names are told apart."""
    found: dict[str, bytes] = {}
    for place, one in enumerate(files):
        name = one.filename or "file"
        found[name if name not in found else f"{name} ({place + 1})"] = one.file.read(LARGEST + 1)
    return found


def _file(data: bytes, name: str) -> Response:
    headers = {
        "content-disposition": f'attachment; filename="{quote(name)}"',
        "cache-control": "no-store",
    }
    return Response(data, media_type="application/json", headers=headers)


def _back(name: str, done: str) -> Response:
    return RedirectResponse(f"/maker/{quote(name)}/shops?done={quote(done)}", 303)
