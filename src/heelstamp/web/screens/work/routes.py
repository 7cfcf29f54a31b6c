"""Touch: what did you do to it? Six large kinds of act, and no act without before and after."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.photo_plan import missing_before
from heelstamp.casework.treatment import (
    AMOUNTS,
    KINDS,
    MATERIALS,
    MINUTES,
    OFFERED,
    PRESET_AMOUNT,
    REASONS,
    cautions,
    doings,
    evidence_near,
    stopped,
    treat_acts,
    used_first,
)
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.shop.photographs import photo_plan
from heelstamp.web.forms import Id, Ids, Line, Made, Prose, Word, back, slip
from heelstamp.web.rendering import desk_of, hand_of, page

router = APIRouter()
SCREEN = "work"


@router.get("/dossier/{tag}/work", response_class=HTMLResponse)
def touch(
    request: Request,
    tag: str,
    kind: Annotated[str, Query(max_length=20)] = "",
    act: Annotated[str, Query(max_length=100)] = "",
) -> HTMLResponse:
    """Show the kinds of act; of a chosen act what belongs to it."""
    subject = desk_of(request).subject(tag)
    state, tree, table = subject.state, subject.tree, load_stop_table()
    every = doings(tree, subject.chronology)
    chosen = next((one for one in every if one.act == act), None)
    now = chosen.kind if chosen else kind
    alike = {one.act for one in every if one.kind == now}
    done = [one for one in state.treatments.values() if one.act in alike]
    first = missing_before(act, state, photo_plan(), tree) if act in photo_plan().acts else ()
    return page(
        request,
        "work/work.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        kinds=KINDS,
        kind=now,
        doings=every,
        chosen=chosen,
        missing=first,
        cautions=cautions(act, table),
        stopped=stopped(state, table, act),
        leave=state.leave(act) if act in tree.acts_needing_consent() else None,
        offered=OFFERED,
        evidence=evidence_near(state, tree, chosen.part if chosen else ""),
        materials=used_first(MATERIALS.get(now, ()), [one.material for one in done]),
        amounts=used_first(AMOUNTS, [one.amount for one in done]),
        reasons=used_first(REASONS.get(now, ()), [one.reason for one in done]),
        minutes=MINUTES,
        preset=PRESET_AMOUNT,
    )


@router.post("/dossier/{tag}/work")
def treat(
    request: Request,
    tag: str,
    act: Word,
    part: Word,
    reversible: Annotated[bool, Form()],
    reason: Line = "",
    other_reason: Line = "",
    material: Word = "",
    other_material: Word = "",
    amount: Word = "",
    other_amount: Word = "",
    minutes: Annotated[float, Form(ge=0, le=6000, allow_inf_nan=False)] = 0.0,
    before: Ids = [],  # noqa: B006 - copied for each request
    after: Ids = [],  # noqa: B006
    note: Prose = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter a treatment."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    told: dict[str, Any] = {
        "act": act,
        "part": part,
        "reason": other_reason.strip() or reason,
        "reversible": reversible,
        "material": other_material.strip() or material,
        "amount": other_amount.strip() or amount,
        "minutes": minutes,
        "note": note,
    }
    acts = treat_acts(
        subject.state,
        slip("t", id, made),
        subject.tree,
        subject.chronology,
        load_stop_table(),
        told=told,
        before=before,
        after=after,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)
