"""The census of a maker: rows taken in, change-overs learned from it, conclusions made again.

Whatever takes seconds is begun by a form and waited for on a page of its own, which says how far
it is and comes again by itself; nothing that was learned is written before a person accepts it.
"""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, File, Form, Path, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.census.sheet import TableError
from heelstamp.dating.learning import LEAST_LOOKS
from heelstamp.errors import ConflictError, InputError
from heelstamp.report.change_over import change_over_alt, change_over_svg
from heelstamp.report.reliability import ReliabilityPoint, reliability_alt, reliability_svg
from heelstamp.shop.census import add_dossier
from heelstamp.shop.comparables import SHEET_MAX
from heelstamp.shop.jobs import Job, NoSuchJobError
from heelstamp.shop.learning import (
    accept,
    begin_holding,
    begin_import,
    begin_learning,
    begin_redating,
)
from heelstamp.shop.makers import kept_at
from heelstamp.web.forms import Word
from heelstamp.web.rendering import desk_of, drawn, hand_of, page
from heelstamp.web.screens.makers.view import (
    held_lines,
    held_sentences,
    learned_sentences,
    moved_lines,
    redated_sentences,
    redated_steps,
    redated_words,
    redated_worst,
)

router = APIRouter()
Key = Annotated[str, Path(pattern="^[0-9a-f]{24}$")]
PATIENCE_S = 2.0
"""A form waits so long for its work; what takes longer is waited for on the page."""
HELD = "Ranges made without marks"


@router.post("/chronologies/{name}/census")
def take_census(
    request: Request,
    name: str,
    table: Annotated[UploadFile, File()],
    columns: Annotated[UploadFile | None, File()] = None,
) -> Response:
    """Take a spreadsheet into the census, all or none."""
    mapped = (b"", "")
    if columns is not None and columns.filename:
        mapped = columns.file.read(SHEET_MAX + 1), columns.filename
    job = begin_import(
        desk_of(request), name, (table.file.read(SHEET_MAX + 1), table.filename or ""), mapped
    )
    return _waited(request, job)


@router.post("/chronologies/{name}/dossier")
def take_dossier(
    request: Request, name: str, tag: Word, while_open: Annotated[bool, Form()] = False
) -> Response:
    """Take a closed dossier into the census of its own chronology."""
    desk = desk_of(request)
    about = desk.subject(tag.strip()).state.instrument.chronology
    if about != name:
        raise InputError(
            "this dossier rests on another chronology",
            where=tag,
            received=about,
            remedy="Add it there.",
        )
    added = add_dossier(desk, tag.strip(), while_open=while_open)
    told = f"{tag.strip()} in the census, which holds {added.total}"
    return RedirectResponse(f"/chronologies/{quote(name)}?done={quote(told)}#census", 303)


@router.post("/chronologies/{name}/learn")
def learn(
    request: Request,
    name: str,
    edition: Word = "",
    serial: Annotated[bool, Form()] = False,
    least: Annotated[int, Form(ge=1, le=1000)] = LEAST_LOOKS,
) -> Response:
    """Begin to learn; nothing is written."""
    job = begin_learning(desk_of(request), name, edition=edition, serial=serial, least=least)
    return _waited(request, job)


@router.post("/chronologies/{name}/accept")
def accepted(
    request: Request, name: str, key: Annotated[str, Form(pattern="^[0-9a-f]{24}$")]
) -> Response:
    """Write what was learned as the new edition."""
    new = accept(desk_of(request), _job(request, name, key, "learn"), by=hand_of(request))
    told = f"edition {new.edition}, learned"
    return RedirectResponse(f"/chronologies/{quote(name)}?done={quote(told)}", 303)


@router.post("/chronologies/{name}/redate")
def redate(
    request: Request,
    name: str,
    keep: Annotated[bool, Form()] = False,
    learned: Annotated[str, Form(pattern="^([0-9a-f]{24})?$")] = "",
) -> Response:
    """Begin to date census and dossiers again, by the present edition or by what was learned."""
    candidate = _job(request, name, learned, "learn") if learned else None
    job = begin_redating(desk_of(request), name, keep=keep, candidate=candidate)
    return _waited(request, job)


@router.post("/chronologies/{name}/held")
def hold(request: Request, name: str) -> Response:
    """Begin to tell whether the shop's own ranges held."""
    return _waited(request, begin_holding(desk_of(request), name))


@router.get("/chronologies/{name}/work/{key}", response_class=HTMLResponse)
def work(request: Request, name: str, key: Key) -> Response:
    """Show how far a job of work is, or what came of it."""
    job = _job(request, name, key)
    kept = kept_at(desk_of(request), name)
    if not job.finished:
        return page(request, "learning/progress.html", kept=kept, job=job)
    if job.error is not None:
        return _refused(request, job)
    if job.what == "learn":
        learned = job.result
        present = kept.chronology
        views = [(one, drawn(change_over_svg(one)), change_over_alt(one)) for one in learned.views]
        return page(
            request,
            "learning/learned.html",
            kept=kept,
            job=job,
            new=learned.new,
            views=views,
            moved=moved_lines(learned.new),
            sentences=learned_sentences(learned.new),
            census=learned.census,
            numbers_missed=learned.with_serials and not learned.new.serials,
            stale=present is not None and present.digest != job.base,
        )
    if job.what == "hold":
        past = job.result
        points = [
            ReliabilityPoint(one.level, one.held, one.low, one.high, past.count)
            for one in past.levels
        ]
        diagram = reliability_svg(
            points,
            title=HELD,
            across="what the range was to hold",
            upwards="what it held of the date with marks",
        )
        return page(
            request,
            "learning/held.html",
            kept=kept,
            sentences=held_sentences(past),
            lines=held_lines(past),
            diagram=drawn(diagram),
            diagram_words=reliability_alt(points, title=HELD),
        )
    if job.what == "redate":
        found = job.result.found
        tags = set(desk_of(request).journals.tags())
        return page(
            request,
            "learning/redated.html",
            kept=kept,
            again=job.result,
            sentences=redated_sentences(name, found),
            steps=redated_steps(found),
            words=redated_words(found),
            worst=redated_worst(found),
            tags=tags,
        )
    return page(request, "learning/imported.html", kept=kept, added=job.result)


def _job(request: Request, name: str, key: str, what: str = "") -> Job:
    job = desk_of(request).jobs.find(key)
    if job is None or job.about != name or (what and job.what != what):
        raise NoSuchJobError(
            "no such work",
            where=name,
            received=key,
            remedy="It was let go, or the bench was started again: begin it anew.",
        )
    if what and not (job.finished and job.error is None):
        raise ConflictError("this work is not done", where=name, remedy="Wait until it is.")
    return job


def _waited(request: Request, job: Job) -> Response:
    job = desk_of(request).jobs.wait(job, PATIENCE_S)
    if job.finished and job.error is not None:
        return _refused(request, job)
    return RedirectResponse(f"/chronologies/{quote(job.about)}/work/{job.key}", 303)


def _refused(request: Request, job: Job) -> Response:
    error = job.error
    assert error is not None
    if isinstance(error, TableError):
        return page(request, "learning/table_refused.html", status=422, error=error)
    raise error
