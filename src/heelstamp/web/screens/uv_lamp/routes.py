"""Lamp: a pair of frames compared beside the requests, its answer, and what a person says of it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, Response

from heelstamp.casework.dose_clock import clock_of, limit_words, told
from heelstamp.casework.photographs import details_of
from heelstamp.casework.uv_lamp.marks import Marks, read_marks, thinned, told_of
from heelstamp.casework.uv_lamp.pairs import UV, VISIBLE, Pairing, frames_in, words_of
from heelstamp.casework.uv_lamp.regions import REASONS, drawn_polygon
from heelstamp.errors import InputError
from heelstamp.report.lamp_overlay import overlay_svg, sample_svg
from heelstamp.shop import now
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.panel import panel_at
from heelstamp.shop.photographs import keep_photograph, photo_plan, photograph_at
from heelstamp.shop.uv_lamp import (
    compare,
    compared_at,
    draw_border,
    enter_compared,
    job_told,
    keep_marks,
    key_of,
    marks_at,
    pair_at,
    pairs_at,
    proposed_masks,
    say_of_region,
    shown_at,
)
from heelstamp.web.forms import Id, Line, Made, Word, back, slip
from heelstamp.web.rendering import desk_of, drawn, hand_of, page

router = APIRouter()
SCREEN = "uv-lamp"
Drawing = Annotated[str, Form(max_length=600_000)]
Frame = Annotated[str, Form(max_length=64)]


@router.get("/dossier/{tag}/uv-lamp", response_class=HTMLResponse)
def lamp(
    request: Request,
    tag: str,
    visible: Annotated[str, Query(max_length=64)] = "",
    uv: Annotated[str, Query(max_length=64)] = "",
    take: Annotated[str, Query(max_length=4)] = "",
) -> HTMLResponse:
    """Show the clock, the faces, and of one pair its answer and what was drawn on it.

    With *take* the camera is shown for the visible frame, to take the UV-A frame again.
    """
    desk = desk_of(request)
    subject = desk.subject(tag)
    rows = pairs_at(desk, tag)
    chosen = _chosen(desk, tag, rows, visible, uv)
    if take and chosen is not None:
        chosen = replace(chosen, uv=None, look=None)
    clock = clock_of(subject.state, now())
    return page(
        request,
        "uv_lamp/uv_lamp.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        clock=clock,
        limit=limit_words(clock),
        minutes=told,
        rows=[(one, words_of(one)) for one in rows],
        chosen=chosen,
        pair=_pair(request, tag, chosen),
        panel=panel_at(desk, tag, now()),
        visibles=frames_in(subject.state, VISIBLE),
        glowing=frames_in(subject.state, UV),
        reasons=REASONS,
    )


def _chosen(
    desk: OpenShop, tag: str, rows: tuple[Pairing, ...], visible: str, uv: str
) -> Pairing | None:
    if visible and uv:
        return pair_at(desk, tag, visible, uv)
    begun = [one for one in rows if one.visible is not None]
    if visible:
        found = next((one for one in begun if one.visible and one.visible.id == visible), None)
        if found is None:
            raise InputError("no face begins with this frame", received=visible, where=tag)
        return found
    waiting = [one for one in begun if one.whole and one.look is None]
    whole = [one for one in begun if one.whole]
    return next(iter((*waiting, *whole, *begun)), None)


def _pair(request: Request, tag: str, chosen: Pairing | None) -> dict[str, Any] | None:
    """Give what the page shows of a whole pair."""
    if chosen is None or not chosen.whole:
        return None
    desk = desk_of(request)
    shown = shown_at(desk, tag, chosen)
    kept = marks_at(desk, tag, chosen)
    job = compared_at(desk, tag, chosen)
    answer = shown.answer if shown else None
    overlay = None
    if answer is not None and answer.assessed:
        words = f"{len(answer.lines)} regions over the frame {key_of(chosen)[0]}"
        overlay = drawn(overlay_svg(answer.size, answer.lines, words=words))
    return {
        "visible": key_of(chosen)[0],
        "uv": key_of(chosen)[1],
        "key": "+".join(key_of(chosen)),
        "answer": answer,
        "entered": bool(shown and shown.entered),
        "overlay": overlay,
        "masks": json.dumps(thinned(answer.masks, answer.size)) if answer and answer.masks else "",
        "samples": {
            one.row.number: drawn(sample_svg(one.row.kind, visible=one.visible))
            for one in (answer.lines if answer else ())
        },
        "marks": json.dumps((kept or Marks()).data()),
        "marks_told": told_of(kept) if kept else "",
        "work": job_told(job) if job is not None else None,
        "error": job.error if job is not None else None,
    }


@router.get("/dossier/{tag}/uv-lamp/outline")
def outline(
    request: Request, tag: str, visible: Annotated[str, Query(max_length=64)]
) -> JSONResponse:
    """Give outline and parts that the program proposes; empty when it finds no body."""
    desk = desk_of(request)
    masks = proposed_masks(desk, photograph_at(desk, tag, visible))
    return JSONResponse(masks, headers={"cache-control": "no-store"})


@router.post("/dossier/{tag}/uv-lamp/compare")
def begin(
    request: Request,
    tag: str,
    visible: Frame,
    uv: Frame,
    marks: Drawing = "",
    act: Word = "compare",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Keep what was drawn, or compare the pair with it."""
    desk = desk_of(request)
    pair = pair_at(desk, tag, visible, uv)
    assert pair.visible is not None
    read = read_marks(marks, size=(pair.visible.width, pair.visible.height))
    if act == "keep":
        keep_marks(desk, tag, pair, read, slip("d", id, made), by=hand_of(request))
    else:
        compare(desk, tag, pair, read)
    return back(tag, SCREEN, visible=visible, uv=uv)


@router.post("/dossier/{tag}/uv-lamp/look")
def look(
    request: Request,
    tag: str,
    visible: Frame,
    uv: Frame,
    finding: Frame,
    again: Line = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter what a comparison came to."""
    desk = desk_of(request)
    pair = pair_at(desk, tag, visible, uv)
    enter_compared(
        desk, tag, pair, slip("o", id, made), finding=finding, again=again, by=hand_of(request)
    )
    return back(tag, SCREEN, visible=visible, uv=uv)


@router.post("/dossier/{tag}/uv-lamp/region")
def region(
    request: Request,
    tag: str,
    visible: Frame,
    uv: Frame,
    region: Annotated[int, Form(ge=1, le=100_000)],
    act: Word,
    reason: Line = "",
    other_reason: Line = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Set a region aside, or let it stand again."""
    desk = desk_of(request)
    say_of_region(
        desk,
        tag,
        pair_at(desk, tag, visible, uv),
        region,
        slip("d", id, made),
        aside=act == "aside",
        reason=other_reason.strip() or reason,
        by=hand_of(request),
    )
    return back(tag, SCREEN, visible=visible, uv=uv)


@router.post("/dossier/{tag}/uv-lamp/border")
def border(
    request: Request,
    tag: str,
    visible: Frame,
    uv: Frame,
    region: Annotated[int, Form(ge=1, le=100_000)],
    polygon: Drawing = "",
    reason: Line = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep a border drawn by hand, or with an empty one let the program's stand again."""
    desk = desk_of(request)
    draw_border(
        desk,
        tag,
        pair_at(desk, tag, visible, uv),
        region,
        slip("d", id, made),
        polygon=drawn_polygon(polygon),
        reason=reason,
        by=hand_of(request),
    )
    return back(tag, SCREEN, visible=visible, uv=uv)


@router.post("/dossier/{tag}/uv-lamp/shot")
def shot(
    request: Request,
    tag: str,
    photo: Annotated[UploadFile, File()],
    visible: Frame,
    slot: Word = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep a frame under UV-A that was taken beside its frame in ordinary light."""
    desk = desk_of(request)
    details = details_of(
        photo_plan(),
        slip("f", id, made),
        name=photo.filename or "",
        slot=slot,
        part="finish",
        light=UV,
        private=False,
        note="",
    )
    keep_photograph(desk, tag, photo.file.read(), details, by=hand_of(request))
    return back(tag, SCREEN, visible=visible, uv=str(details["id"]))
