"""Weigh-up: when it was completed, what each mark says by itself, and what the parts come to.

Any observation, or all of a part, can be set aside to see the answer without it.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from heelstamp.casework.papers.date_section import date_section
from heelstamp.casework.papers.part_section import part_section
from heelstamp.casework.weighing import STRONG, turned, weights
from heelstamp.report.change_over import change_over_alt, change_over_svg
from heelstamp.report.drawing import drawing_alt, drawing_svg
from heelstamp.report.timeline import timeline_alt, timeline_svg
from heelstamp.shop.findings import change_overs_seen, doubts_told, finding_without
from heelstamp.shop.subjects import terms_of
from heelstamp.web.rendering import desk_of, drawn, page, partial

router = APIRouter()
SCREEN = "findings"
Ids = Annotated[list[str], Query(max_length=400)]


@router.get("/dossier/{tag}/findings", response_class=HTMLResponse)
def weigh_up(
    request: Request,
    tag: str,
    aside: Ids = [],  # noqa: B006 - copied for each request
    turn: Ids = [],  # noqa: B006
) -> HTMLResponse:
    """Show date and parts as they stand now, or without the observations set aside.

    Parameters
    ----------
    aside, turn
        Ids of observations set aside so far, and of those to turn over, with spaces between.
    """
    desk = desk_of(request)
    out = turned(aside, " ".join(turn).split())
    subject, found = finding_without(desk, tag, out)
    finding, terms = found.data(), terms_of(subject.chronology)
    dated = date_section(subject.state, subject.tree, terms, finding)
    rows, statements = part_section(subject.state, subject.tree, terms, finding)
    kind = subject.state.instrument.kind
    line = dated.timeline
    whole = desk.subject(tag).state
    all_in = date_section(whole, subject.tree, terms, desk.finding(tag).data()) if out else dated
    fits = doubts_told(desk, tag) if desk.has("doubts", tag) else None
    return page(
        request,
        "findings/findings.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        dated=dated,
        digest=finding["digest"],
        rows=rows,
        said={one.id: one for one in statements},
        timeline=None if line is None else drawn(timeline_svg(line)),
        timeline_words="" if line is None else timeline_alt(line),
        drawing=drawn(drawing_svg(kind, rows)),
        drawing_words=drawing_alt(rows, kind),
        scale=weights(whole, subject.tree, terms, finding, out),
        strong=STRONG,
        aside=out,
        all_in=all_in.headline,
        doubted=fits,
    )


@router.get("/dossier/{tag}/findings/doubts", response_class=HTMLResponse)
def doubts(request: Request, tag: str) -> HTMLResponse:
    """Show what does not fit and what the answer hangs on; as a piece of the page."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    template = "findings/doubts.html" if partial(request) else "findings/doubts_page.html"
    return page(
        request, template, tag=tag, screen=SCREEN, subject=subject, doubted=doubts_told(desk, tag)
    )


@router.get("/dossier/{tag}/findings/curves", response_class=HTMLResponse)
def curves(request: Request, tag: str) -> HTMLResponse:
    """Show the change-over of each feature that was seen, with the census beside it."""
    desk = desk_of(request)
    return page(
        request,
        "findings/curves.html",
        tag=tag,
        screen=SCREEN,
        subject=desk.subject(tag),
        curves=[
            (one, drawn(change_over_svg(one)), change_over_alt(one))
            for one in change_overs_seen(desk, tag)
        ],
    )
