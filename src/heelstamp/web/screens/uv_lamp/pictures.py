"""Pictures of a pair for looking closely: UV-A laid over ordinary light, whole and in squares.

Addresses carry the finding, so that a picture never changes and a browser may keep it.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from heelstamp.catalogue import Photograph
from heelstamp.errors import NotFoundError
from heelstamp.shop.pair_pictures import Transform, piece, whole_over
from heelstamp.shop.photographs import photograph_at
from heelstamp.shop.uv_lamp import compared_at, pair_at, shown_at
from heelstamp.web.at_bench import AtBench, Bench

router = APIRouter()
FOREVER = {"cache-control": "private, max-age=31536000, immutable"}
Asked = Annotated[str, Query(max_length=64)]


@router.get("/dossier/{tag}/uv-lamp/laid/{finding}")
def laid(here: AtBench, finding: str, visible: Asked, uv: Asked) -> Response:
    """Send the whole UV-A frame laid over the visible one."""
    first, second, transform = _found(here, finding, visible, uv)
    data = whole_over(here.shop, first, second, transform)
    return Response(data, media_type="image/jpeg", headers=FOREVER)


@router.get("/dossier/{tag}/uv-lamp/tile/{finding}/{level}/{column}/{row}")
def tile(
    here: AtBench, finding: str, level: int, column: int, row: int, visible: Asked, uv: Asked = ""
) -> Response:
    """Send a square of the visible frame, or with *uv* of the UV-A frame laid over it."""
    over = None
    if uv:
        first, second, transform = _found(here, finding, visible, uv)
        over = (second, transform)
    else:
        first = photograph_at(here.shop, here.tag, visible)
    data = piece(here.shop, first, over, (level, column, row))
    return Response(data, media_type="image/jpeg", headers=FOREVER)


@router.get("/dossier/{tag}/uv-lamp/preview")
def preview(here: AtBench, visible: Asked, uv: Asked) -> Response:
    """Send the rough picture of a comparison that is at work."""
    pair = pair_at(here.shop, here.tag, visible, uv)
    work = compared_at(here.shop, here.tag, pair)
    if work is None or work.preview is None:
        raise NotFoundError("no such picture", where=here.tag, remedy="Compare the pair.")
    return Response(work.preview, media_type="image/jpeg", headers={"cache-control": "no-store"})


def _found(
    here: Bench, finding: str, visible: str, uv: str
) -> tuple[Photograph, Photograph, Transform]:
    pair = pair_at(here.shop, here.tag, visible, uv)
    shown = shown_at(here.shop, here.tag, pair)
    if shown is None or shown.answer.transform is None or shown.answer.finding[:16] != finding:
        raise NotFoundError(
            "no such finding",
            where=here.tag,
            received=finding,
            remedy="Compare the pair, or reload.",
        )
    assert pair.visible is not None
    assert pair.uv is not None
    return pair.visible, pair.uv, shown.answer.transform
