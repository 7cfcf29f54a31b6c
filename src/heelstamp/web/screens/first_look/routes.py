"""First Look: tap the drawing, or a part's name, and say what is seen."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from heelstamp.casework.first_look import OTHERWISE, questions_of
from heelstamp.casework.mark_reading import hidden_marks
from heelstamp.shop.subjects import Subject
from heelstamp.web.rendering import desk_of, drawn, hand_of, page, partial
from heelstamp.web.screens.first_look.drawing import touch_drawing
from heelstamp.web.screens.first_look.zones import counts, zones

router = APIRouter()


@router.get("/dossier/{tag}/first-look", response_class=HTMLResponse)
def first_look(
    request: Request, tag: str, part: Annotated[str, Query(max_length=40)] = ""
) -> HTMLResponse:
    """Show the drawing, the parts, and the questions of *part*."""
    subject = desk_of(request).subject(tag)
    template = "first_look/part.html" if partial(request) and part else "first_look/first_look.html"
    return page(request, template, **look(subject, part, hand_of(request)))


def look(subject: Subject, part: str, hand: str) -> dict[str, Any]:
    """Give what the screen and its fragment show."""
    found = zones(subject.state, subject.tree, subject.chronology)
    questions = questions_of(subject.state, subject.tree, subject.chronology, part) if part else ()
    openings = {one.key: one.label for one in subject.tree.openings}
    return {
        "tag": subject.name,
        "screen": "first-look",
        "subject": subject,
        "zones": found,
        "counts": counts(found),
        "chosen": part and subject.tree.part(part),
        "questions": questions,
        "otherwise": OTHERWISE,
        "openings": openings,
        "blind": hidden_marks(subject.state, hand),
        "pieces": [
            drawn(one)
            for one in touch_drawing(subject.state.instrument.kind, found, subject.name, part)
        ],
    }
