"""Words: every sentence of the report with its frames; a weaker word freely."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.papers.chosen_words import choices_of
from heelstamp.casework.wording_choice import groups, word_acts
from heelstamp.shop.reports import computed_words, document_at
from heelstamp.web.forms import Id, Line, Made, Word, back, slip
from heelstamp.web.rendering import desk_of, hand_of, page
from heelstamp.wording.banned import find_banned

router = APIRouter()
SCREEN = "wording"


@router.get("/dossier/{tag}/wording", response_class=HTMLResponse)
def words(
    request: Request, tag: str, own: Annotated[str, Query(max_length=4000)] = ""
) -> HTMLResponse:
    """Show the sentences of the shop's copy; of *own* words those that no paper may carry."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    found = groups(
        document_at(desk, tag, "shop"), computed_words(desk, tag), choices_of(subject.state)
    )
    return page(
        request,
        "wording/wording.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        groups=found,
        own=own,
        banned=find_banned(own),
    )


@router.post("/dossier/{tag}/word")
def word(
    request: Request,
    tag: str,
    statement: Word,
    word: Word,
    reason: Line = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Let another word stand in a sentence."""
    desk = desk_of(request)
    acts = word_acts(
        desk.subject(tag).state,
        slip("d", id, made),
        computed_words(desk, tag),
        statement=statement,
        word=word,
        reason=reason,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)
