"""Pictures of a pair for looking closely: UV-A laid over ordinary light, whole and in squares.

Addresses carry the finding, so that a picture never changes and a browser may keep it.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from heelstamp.catalogue import Photograph
from heelstamp.errors import NotFoundError
from heelstamp.shop.pair_pictures import Transform, piece, whole_over
from heelstamp.shop.photographs import photograph_at
from heelstamp.shop.uv_lamp import compared_at, pair_at, shown_at
from heelstamp.web.rendering import desk_of

router = APIRouter()
FOREVER = {"cache-control": "private, max-age=31536000, immutable"}
Asked = Annotated[str, Query(max_length=64)]


@router.get("/dossier/{tag}/uv-lamp/laid/{finding}")
def laid(request: Request, tag: str, finding: str, visible: Asked, uv: Asked) -> Response:
    """Give the whole UV-A frame laid over the visible one."""
    first, second, transform = _found(request, tag, finding, visible, uv)
    data = whole_over(desk_of(request), first, second, transform)
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
        first = photograph_at(desk, tag, visible)
    data = piece(desk, first, over, (level, column, row))
    return Response(data, media_type="image/jpeg", headers=FOREVER)


@router.get("/dossier/{tag}/uv-lamp/preview")
def preview(request: Request, tag: str, visible: Asked, uv: Asked) -> Response:
    """Give the rough picture of a comparison that is at work."""
    desk = desk_of(request)
    job = compared_at(desk, tag, pair_at(desk, tag, visible, uv))
    if job is None or job.preview is None:
        raise NotFoundError("no such picture", where=tag, remedy="Compare the pair.")
    return Response(job.preview, media_type="image/jpeg", headers={"cache-control": "no-store"})


def _found(
    request: Request, tag: str, finding: str, visible: str, uv: str
) -> tuple[Photograph, Photograph, Transform]:
    desk = desk_of(request)
    pair = pair_at(desk, tag, visible, uv)
    shown = shown_at(desk, tag, pair)
    if shown is None or shown.answer.transform is None or shown.answer.finding[:16] != finding:
        raise NotFoundError(
            "no such finding", where=tag, received=finding, remedy="Compare the pair, or reload."
        )
    assert pair.visible is not None
    assert pair.uv is not None
    return pair.visible, pair.uv, shown.answer.transform
