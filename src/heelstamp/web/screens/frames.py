"""Frames: a photograph of the dossier, as a copy without anything but its picture."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from heelstamp.errors import InputError
from heelstamp.web.rendering import desk_of

router = APIRouter()


@router.get("/dossier/{tag}/frame/{frame}")
def frame(
    request: Request, tag: str, frame: str, wide: Annotated[int, Query(ge=64, le=4000)] = 480
) -> Response:
    """Give a copy of at most *wide* pixels; it never changes, so a browser may keep it."""
    desk = desk_of(request)
    photograph = desk.subject(tag).state.photographs.get(frame)
    if photograph is None:
        raise InputError("no such frame", where=tag, received=frame, remedy="See First Look.")
    key = f'"{photograph.file[:32]}-{wide}"'
    headers = {"etag": key, "cache-control": "private, max-age=31536000, immutable"}
    if request.headers.get("if-none-match") == key:
        return Response(status_code=304, headers=headers)
    data = desk.shop.files.get(photograph.file)
    copy = desk.shop.photographs.outgoing(data, photograph.name, wide)
    return Response(copy, media_type="image/jpeg", headers=headers)
