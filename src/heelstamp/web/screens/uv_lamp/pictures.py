"""Pictures of a pair for looking closely: UV-A laid over ordinary light, whole and in squares.

Addresses carry the finding, so that a picture never changes and a browser may keep it.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from heelstamp.catalogue import Photograph
from heelstamp.errors import InputError
from heelstamp.shop.desk_lamp import key_of, pair_at, shown_at
from heelstamp.shop.lamp_pictures import LampPictures, Transform
from heelstamp.web.rendering import desk_of
from heelstamp.web.screens.uv_lamp.routes import works_of

router = APIRouter()
FOREVER = {"cache-control": "private, max-age=31536000, immutable"}
Asked = Annotated[str, Query(max_length=64)]


@router.get("/dossier/{tag}/uv-lamp/laid/{finding}")
def laid(request: Request, tag: str, finding: str, visible: Asked, uv: Asked) -> Response:
    """Give the whole UV-A frame laid over the visible one."""
    first, second, transform = _found(request, tag, finding, visible, uv)
    data = _pictures(request).laid(desk_of(request), first, second, transform)
    return Response(data, media_type="image/jpeg", headers=FOREVER)


@router.get("/dossier/{tag}/uv-lamp/tile/{finding}/{level}/{column}/{row}")
def tile(
    request: Request,
    tag: str,
    finding: str,
    level: int,
    column: int,
    row: int,
    visible: Asked,
    uv: Asked = "",
) -> Response:
    """Give a square of the visible frame, or with *uv* of the UV-A frame laid over it."""
    desk, over = desk_of(request), None
    if uv:
        first, second, transform = _found(request, tag, finding, visible, uv)
        over = (second, transform)
    else:
        first = _frame(request, tag, visible)
    data = _pictures(request).piece(desk, first, over, (level, column, row))
    return Response(data, media_type="image/jpeg", headers=FOREVER)


@router.get("/dossier/{tag}/uv-lamp/preview")
def preview(request: Request, tag: str, visible: Asked, uv: Asked) -> Response:
    """Give the rough picture of a comparison that is at work."""
    pair = pair_at(desk_of(request), tag, visible, uv)
    work = works_of(request).of(tag, key_of(pair))
    if work is None or work.preview is None:
        raise InputError("no such picture", where=tag, remedy="Compare the pair.")
    return Response(work.preview, media_type="image/jpeg", headers={"cache-control": "no-store"})


def _pictures(request: Request) -> LampPictures:
    pictures: LampPictures = request.app.state.lamp_pictures
    return pictures


def _frame(request: Request, tag: str, frame: str) -> Photograph:
    one = desk_of(request).subject(tag).state.photographs.get(frame)
    if one is None:
        raise InputError("no such frame", where=tag, received=frame, remedy="See Frames.")
    return one


def _found(
    request: Request, tag: str, finding: str, visible: str, uv: str
) -> tuple[Photograph, Photograph, Transform]:
    desk = desk_of(request)
    pair = pair_at(desk, tag, visible, uv)
    shown = shown_at(desk, works_of(request), tag, pair)
    if shown is None or shown.answer.transform is None or shown.answer.finding[:16] != finding:
        raise InputError(
            "no such finding", where=tag, received=finding, remedy="Compare the pair, or reload."
        )
    assert pair.visible is not None
    assert pair.uv is not None
    return pair.visible, pair.uv, shown.answer.transform
