"""Setup: before, plan and after; the truss rod, the saddles, the strings; readings at the jack."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.jack import bench_rows as at_the_jack
from heelstamp.casework.jack.finding import CAUTIONS
from heelstamp.casework.public_words import marked
from heelstamp.casework.setup.describe import describe_frets
from heelstamp.casework.setup.fret_rows import SUBJECTS, USUAL_FRETS, fret_entries
from heelstamp.casework.setup.measures import COLUMNS, Measure, measure_named, measures_of
from heelstamp.casework.setup.reading import reading_entries
from heelstamp.casework.setup.records import read_record
from heelstamp.casework.setup.work import (
    FELT,
    TURN,
    WAYS,
    named_sets,
    rod_entries,
    rod_turns,
    saddle_entries,
    set_entries,
)
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.shop.jack import jack_at
from heelstamp.shop.setup import bench_at, sheet_at, ways_at, wear_picture
from heelstamp.web.at_bench import AtBench, Bench
from heelstamp.web.rendering import drawn
from heelstamp.web.screens.setup.forms import (
    FretRows,
    JackReadings,
    Reading,
    RodStep,
    SaddlesSet,
    StringSet,
)
from heelstamp.web.screens.setup.plan_view import plan_words, plot_tables
from heelstamp.web.screens.setup.view import Taking, after, first_taking, groups, taking

router = APIRouter()
SCREEN = "setup"


@router.get("/dossier/{tag}/setup", response_class=HTMLResponse)
def setup(here: AtBench, take: Annotated[str, Query(max_length=60)] = "") -> HTMLResponse:
    """Show what was read, what is planned, and the wheel for what is read now."""
    subject, lengths = here.subject, here.lengths
    bench, planned = bench_at(here.shop, here.tag), sheet_at(here.shop, here.tag)
    sheet = planned.sheet
    rows = groups(subject.state, subject.tree, sheet, bench, lengths)
    return here.page(
        "setup/setup.html",
        SCREEN,
        at="setup",
        ways=ways_at(here.shop, here.tag),
        columns=COLUMNS,
        refused=planned.refused,
        groups=rows,
        plan=plan_words(sheet, lengths),
        sets=named_sets(subject.state, bench),
        plots={name: drawn(one) for name, one in planned.plots.items()},
        tables=plot_tables(sheet, lengths) if sheet else (),
        case=sheet.case.reasons if sheet and sheet.case else (),
        turns=rod_turns(subject.state),
        fret_subjects={key: label for key, (label, _) in SUBJECTS.items()},
        string_count=4 if subject.state.instrument.kind == "bass" else 6,
        rod_ways=WAYS,
        felt=FELT,
        consent=subject.state.leave(TURN),
        now=_taking(here, take or ".".join(first_taking(rows))),
    )


@router.get("/dossier/{tag}/taking", response_class=HTMLResponse)
def the_wheel(here: AtBench, take: Annotated[str, Query(max_length=60)]) -> HTMLResponse:
    """Show the wheel alone, for the number to be read now."""
    now = _taking(here, take)
    return here.page("setup/takings.html", SCREEN, columns=COLUMNS, every=[now])


@router.get("/dossier/{tag}/takings", response_class=HTMLResponse)
def every_wheel(here: AtBench) -> HTMLResponse:
    """Show the wheels of all cells, for a device that loses the shop."""
    subject, bench = here.subject, bench_at(here.shop, here.tag)
    every = [
        taking(subject.state, one, column, bench, here.lengths)
        for one in measures_of(subject.tree, read_record(subject.state))
        for column in one.columns
    ]
    return here.page("setup/takings.html", SCREEN, columns=COLUMNS, every=every)


@router.post("/dossier/{tag}/reading")
def reading(here: AtBench, told: Annotated[Reading, Form()]) -> Response:
    """Enter a reading, and go on to the next."""
    one = _measure(here, told.measure)
    entries = reading_entries(
        here.state,
        told.stamp("m"),
        measure=one,
        column=told.column,
        text=told.value,
        tool=told.tool,
        lengths=here.lengths,
        note=told.note,
    )
    here.enter(marked(entries, told.public))
    rows = groups(here.state, here.tree, None, bench_at(here.shop, here.tag), here.lengths)
    return here.back(SCREEN, take=".".join(after(rows, one, told.column)))


@router.post("/dossier/{tag}/fret-rows")
def fret_rows(here: AtBench, told: Annotated[FretRows, Form()]) -> Response:
    """Enter rows of readings of the frets, all of them or none."""
    here.enter(
        fret_entries(
            told.stamp("m"),
            told.rows(),
            quantity=told.quantity,
            tool=told.tool,
            stage=told.stage,
            unit=here.lengths,
        )
    )
    return here.back(told.page)


@router.get("/dossier/{tag}/setup/frets", response_class=HTMLResponse)
def frets(here: AtBench) -> HTMLResponse:
    """Show a number pad for all frets under three strings, and what was read of them."""
    subject, sheet = here.subject, sheet_at(here.shop, here.tag).sheet
    counted = read_record(subject.state).last("frets")
    wear = None if sheet is None else sheet.board.wear
    return here.page(
        "setup/frets.html",
        SCREEN,
        told=() if sheet is None else describe_frets(sheet.board),
        map=None if wear is None else drawn(wear_picture(wear)),
        frets=round(counted.value.value) if counted is not None else USUAL_FRETS,
        subjects=SUBJECTS,
        sides=("treble", "middle", "bass"),
        string_count=4 if subject.state.instrument.kind == "bass" else 6,
    )


@router.post("/dossier/{tag}/string-set")
def string_set(here: AtBench, told: Annotated[StringSet, Form()]) -> Response:
    """Name the set as found, or the new one; the wheel stays where it was."""
    bench = bench_at(here.shop, here.tag)
    here.enter(set_entries(here.state, told.stamp("d"), bench, which=told.which, text=told.value))
    return here.back(SCREEN, take=told.take)


@router.post("/dossier/{tag}/rod")
def rod(here: AtBench, told: Annotated[RodStep, Form()]) -> Response:
    """Enter a step of the truss rod with the relief read after it."""
    entries = rod_entries(
        here.state,
        here.tree,
        told.stamp("t"),
        load_stop_table(),
        lengths=here.lengths,
        **told.fields(),
    )
    here.enter(entries)
    return here.back(SCREEN, take="relief.final")


@router.post("/dossier/{tag}/saddles")
def saddles(here: AtBench, told: Annotated[SaddlesSet, Form()]) -> Response:
    """Enter the saddles set, with the action read after it."""
    read = {name.replace("_", "-"): one for name, one in told.fields().items()}
    here.enter(
        saddle_entries(here.state, here.tree, told.stamp("t"), told=read, lengths=here.lengths)
    )
    return here.back(SCREEN, take="action-treble.final")


@router.get("/dossier/{tag}/setup/jack", response_class=HTMLResponse)
def jack_page(
    here: AtBench,
    part: Annotated[str, Query(max_length=40)] = "",
    stage: Annotated[str, Query(max_length=10)] = "found",
) -> HTMLResponse:
    """Show the readings at the jack and what they came to."""
    found, pickups = jack_at(here.shop, here.tag), at_the_jack.pickups_of(here.tree)
    chosen = part if part in pickups else next(iter(pickups), "")
    stage = stage if stage in at_the_jack.STAGES else at_the_jack.STAGES[0]
    return here.page(
        "setup/jack.html",
        SCREEN,
        at="jack",
        ways=ways_at(here.shop, here.tag),
        pickups=pickups,
        chosen=chosen,
        stage=stage,
        stages=at_the_jack.STAGES,
        places=at_the_jack.PLACES,
        steps=at_the_jack.STEPS,
        standing=at_the_jack.standing(here.state, pickups.get(chosen, ""), stage),
        found=found,
        rows=at_the_jack.jack_rows(found.finding) if found.finding else (),
        picture=drawn(found.picture),
        cautions=CAUTIONS,
    )


@router.post("/dossier/{tag}/jack")
def jack(here: AtBench, told: Annotated[JackReadings, Form()]) -> Response:
    """Enter the readings of one pickup."""
    entries = at_the_jack.jack_entries(
        here.state,
        here.tree,
        told.stamp("m"),
        part=told.part,
        stage=told.stage,
        readings={"full": told.full, "sweep": told.sweep, "zero": told.zero},
        temperature=told.temperature,
    )
    here.enter(entries)
    return here.back(f"{SCREEN}/jack", part=told.part, stage=told.stage)


def _taking(here: Bench, take: str) -> Taking:
    key, _, column = take.partition(".")
    bench = bench_at(here.shop, here.tag)
    return taking(here.state, _measure(here, key), column, bench, here.lengths)


def _measure(here: Bench, key: str) -> Measure:
    return measure_named(measures_of(here.tree, read_record(here.state)), key)
