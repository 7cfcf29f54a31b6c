"""Tune: before, plan and after; the rod, the saddles, the strings; readings at the jack."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.jack import bench_rows as at_the_jack
from heelstamp.casework.jack.finding import CAUTIONS
from heelstamp.casework.setup.measures import COLUMNS, Measure, measure_named, measures_of
from heelstamp.casework.setup.reading import reading_acts
from heelstamp.casework.setup.records import read_record
from heelstamp.casework.setup.work import (
    FELT,
    TURN,
    WAYS,
    named_sets,
    rod_acts,
    rod_turns,
    saddle_acts,
    set_acts,
)
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.shop.jack import jack_at
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.setup import bench_at, sheet_at, ways_at
from heelstamp.shop.subjects import Subject
from heelstamp.web.forms import Id, Line, Made, Prose, Word, back, slip
from heelstamp.web.rendering import desk_of, drawn, hand_of, lengths_of, page
from heelstamp.web.screens.setup.plan_view import plan_words, plot_tables
from heelstamp.web.screens.setup.view import after, first_taking, groups, taking

router = APIRouter()
SCREEN = "setup"
Number = Annotated[str, Form(max_length=24)]
"""A number as the wheel or a person writes it."""


@router.get("/dossier/{tag}/setup", response_class=HTMLResponse)
def tune(
    request: Request, tag: str, take: Annotated[str, Query(max_length=60)] = ""
) -> HTMLResponse:
    """Show what was read, what is planned, and the wheel for what is read now."""
    desk, lengths = desk_of(request), lengths_of(request)
    subject = desk.subject(tag)
    bench, planned = bench_at(desk, tag), sheet_at(desk, tag)
    sheet = planned.sheet
    rows = groups(subject.state, subject.tree, sheet, bench, lengths)
    return page(
        request,
        "setup/setup.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        at="setup",
        ways=ways_at(desk, tag),
        columns=COLUMNS,
        refused=planned.refused,
        groups=rows,
        plan=plan_words(sheet, lengths),
        sets=named_sets(subject.state, bench),
        plots={name: drawn(one) for name, one in planned.plots.items()},
        tables=plot_tables(sheet, lengths) if sheet else (),
        case=sheet.case.reasons if sheet and sheet.case else (),
        turns=rod_turns(subject.state),
        rod_ways=WAYS,
        felt=FELT,
        leave=subject.state.leave(TURN),
        **_taking(request, desk, tag, take or ".".join(first_taking(rows))),
    )


@router.get("/dossier/{tag}/taking", response_class=HTMLResponse)
def the_wheel(
    request: Request, tag: str, take: Annotated[str, Query(max_length=60)]
) -> HTMLResponse:
    """Show the wheel alone, for the number to be read now."""
    desk = desk_of(request)
    return page(
        request,
        "recordings/taking.html",
        tag=tag,
        columns=COLUMNS,
        **_taking(request, desk, tag, take),
    )


@router.get("/dossier/{tag}/takings", response_class=HTMLResponse)
def every_wheel(request: Request, tag: str) -> HTMLResponse:
    """Give the wheels of all cells, for a device that loses the shop."""
    desk, lengths = desk_of(request), lengths_of(request)
    subject, bench = desk.subject(tag), bench_at(desk, tag)
    every = [
        taking(subject.state, one, column, bench, lengths)
        for one in measures_of(subject.tree, read_record(subject.state))
        for column in one.columns
    ]
    return page(request, "recordings/takings.html", tag=tag, columns=COLUMNS, every=every)


@router.post("/dossier/{tag}/reading")
def reading(
    request: Request,
    tag: str,
    measure: Word,
    column: Word,
    value: Number,
    tool: Word = "",
    note: Prose = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter a reading, and go on to the next."""
    desk, lengths = desk_of(request), lengths_of(request)
    subject = desk.subject(tag)
    one = _measure(subject, measure)
    acts = reading_acts(
        subject.state,
        slip("m", id, made),
        measure=one,
        column=column,
        text=value,
        tool=tool,
        lengths=lengths,
        note=note,
    )
    desk.enter(tag, acts, by=hand_of(request))
    now = desk.subject(tag)
    rows = groups(now.state, now.tree, None, bench_at(desk, tag), lengths)
    return back(tag, SCREEN, take=".".join(after(rows, one, column)))


@router.post("/dossier/{tag}/string-set")
def string_set(
    request: Request,
    tag: str,
    which: Word,
    value: Line,
    take: Word = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Name the set as found, or the new one; the wheel stays where it was."""
    desk = desk_of(request)
    acts = set_acts(
        desk.subject(tag).state, slip("d", id, made), bench_at(desk, tag), which=which, text=value
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, take=take)


@router.post("/dossier/{tag}/rod")
def rod(
    request: Request,
    tag: str,
    turns: Number,
    way: Word,
    relief: Number,
    felt: Word = "nothing",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter a step of the rod with the relief read after it."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    acts = rod_acts(
        subject.state,
        subject.tree,
        slip("t", id, made),
        load_stop_table(),
        turns=turns,
        way=way,
        relief=relief,
        felt=felt,
        lengths=lengths_of(request),
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, take="relief.final")


@router.post("/dossier/{tag}/saddles")
def saddles(
    request: Request,
    tag: str,
    saddle_treble: Number,
    saddle_bass: Number,
    action_treble: Number,
    action_bass: Number,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the saddles set, with the action read after it."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    told = {
        "saddle-treble": saddle_treble,
        "saddle-bass": saddle_bass,
        "action-treble": action_treble,
        "action-bass": action_bass,
    }
    acts = saddle_acts(
        subject.state, subject.tree, slip("t", id, made), told=told, lengths=lengths_of(request)
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, take="action-treble.final")


@router.get("/dossier/{tag}/setup/jack", response_class=HTMLResponse)
def jack_page(
    request: Request,
    tag: str,
    part: Annotated[str, Query(max_length=40)] = "",
    stage: Annotated[str, Query(max_length=10)] = "found",
) -> HTMLResponse:
    """Show the readings at the jack and what they came to."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    found, pickups = jack_at(desk, tag), at_the_jack.pickups_of(subject.tree)
    chosen = part if part in pickups else next(iter(pickups), "")
    stage = stage if stage in at_the_jack.STAGES else at_the_jack.STAGES[0]
    return page(
        request,
        "setup/jack.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        at="jack",
        ways=ways_at(desk, tag),
        pickups=pickups,
        chosen=chosen,
        stage=stage,
        stages=at_the_jack.STAGES,
        places=at_the_jack.PLACES,
        steps=at_the_jack.STEPS,
        standing=at_the_jack.standing(subject.state, pickups.get(chosen, ""), stage),
        found=found,
        rows=at_the_jack.jack_rows(found.finding) if found.finding else (),
        picture=drawn(found.picture),
        cautions=CAUTIONS,
    )


@router.post("/dossier/{tag}/jack")
def jack(
    request: Request,
    tag: str,
    part: Word,
    full: Number,
    sweep: Number,
    temperature: Number,
    zero: Number = "",
    stage: Word = "found",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the readings of one pickup."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    acts = at_the_jack.jack_acts(
        subject.state,
        subject.tree,
        slip("m", id, made),
        part=part,
        stage=stage,
        readings={"full": full, "sweep": sweep, "zero": zero},
        temperature=temperature,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, f"{SCREEN}/jack", part=part, stage=stage)


def _taking(request: Request, desk: OpenShop, tag: str, take: str) -> dict[str, Any]:
    key, _, column = take.partition(".")
    subject = desk.subject(tag)
    one = _measure(subject, key)
    now = taking(subject.state, one, column, bench_at(desk, tag), lengths_of(request))
    return {"now": now}


def _measure(subject: Subject, key: str) -> Measure:
    record = read_record(subject.state)
    return measure_named(measures_of(subject.tree, record), key)
