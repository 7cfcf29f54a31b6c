"""Weigh-up: when it was completed, what each mark says by itself, and what the parts come to."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from heelstamp.bootstrap.subjects import terms_of
from heelstamp.casework.papers.date_section import date_section
from heelstamp.casework.papers.part_section import part_section
from heelstamp.report.drawing import drawing_alt, drawing_svg
from heelstamp.report.timeline import timeline_alt, timeline_svg
from heelstamp.web.rendering import desk_of, drawn, page

router = APIRouter()


@router.get("/dossier/{tag}/weigh-up", response_class=HTMLResponse)
def weigh_up(request: Request, tag: str) -> HTMLResponse:
    """Show date and parts as they stand now."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    finding = desk.finding(tag).data()
    terms = terms_of(subject.chronology)
    dated = date_section(subject.state, subject.tree, terms, finding)
    rows, statements = part_section(subject.state, subject.tree, terms, finding)
    kind = subject.state.instrument.kind
    line = dated.timeline
    return page(
        request, "weigh_up.html", tag=tag, screen="weigh-up", subject=subject, dated=dated,
        digest=finding["digest"], rows=rows, said={one.id: one for one in statements},
        timeline=None if line is None else drawn(timeline_svg(line)),
        timeline_words="" if line is None else timeline_alt(line),
        drawing=drawn(drawing_svg(kind, rows)), drawing_words=drawing_alt(rows, kind),
    )  # fmt: skip
