"""The census of a maker: rows taken in, change-overs learned from it, conclusions made again.

Whatever takes seconds is begun by a form and waited for on a page of its own, which says how far
it is and comes again by itself; nothing that was learned is written before a person accepts it.
"""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Path, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.errors import ConflictError, InputError
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
from heelstamp.web.rendering import hand_of, page, shop_of
from heelstamp.web.screens.learning.forms import Accept, Dossier, Learn, Redate, Spreadsheet
from heelstamp.web.screens.learning.view import held_view, learned_view, redated_view

router = APIRouter()
Key = Annotated[str, Path(pattern="^[0-9a-f]{24}$")]
LEARNED = ("learn", "join")
"""Work that makes a new edition."""
PATIENCE_S = 2.0
"""A form waits so long for its work; what takes longer is waited for on the page."""


@router.post("/maker/{name}/census")
def take_census(request: Request, name: str, told: Annotated[Spreadsheet, Form()]) -> Response:
    """Take a spreadsheet into the census, all or none."""
    table, columns = told.table, told.columns
    mapped = (b"", "")
    if columns is not None and columns.filename:
        mapped = columns.file.read(SHEET_MAX + 1), columns.filename
    sheet = (table.file.read(SHEET_MAX + 1), table.filename or "")
    return _waited(request, begin_import(shop_of(request), name, sheet, mapped))


@router.post("/maker/{name}/dossier")
def take_dossier(request: Request, name: str, told: Annotated[Dossier, Form()]) -> Response:
    """Take a closed dossier into the census of its own chronology."""
    shop = shop_of(request)
    about = shop.subject(told.tag).state.instrument.chronology
    if about != name:
        raise InputError(
            "this dossier rests on another chronology",
            where=told.tag,
            received=about,
            remedy="Add it there.",
        )
    added = add_dossier(shop, told.tag, while_open=told.while_open)
    done = f"{told.tag} in the census, which holds {added.total}"
    return RedirectResponse(f"/maker/{quote(name)}?done={quote(done)}#census", 303)


@router.post("/maker/{name}/learn")
def learn(request: Request, name: str, told: Annotated[Learn, Form()]) -> Response:
    """Begin to learn; nothing is written."""
    return _waited(request, begin_learning(shop_of(request), name, **told.fields()))


@router.post("/maker/{name}/accept")
def accepted(request: Request, name: str, told: Annotated[Accept, Form()]) -> Response:
    """Write what was learned as the new edition."""
    new = accept(shop_of(request), _job(request, name, told.key, *LEARNED), by=hand_of(request))
    done = f"edition {new.edition}, learned"
    return RedirectResponse(f"/maker/{quote(name)}?done={quote(done)}", 303)


@router.post("/maker/{name}/redate")
def redate(request: Request, name: str, told: Annotated[Redate, Form()]) -> Response:
    """Begin to date census and dossiers again, by the present edition or by what was learned."""
    candidate = _job(request, name, told.learned, *LEARNED) if told.learned else None
    job = begin_redating(shop_of(request), name, keep=told.keep, candidate=candidate)
    return _waited(request, job)


@router.post("/maker/{name}/held")
def hold(request: Request, name: str) -> Response:
    """Begin to tell whether the shop's own ranges held."""
    return _waited(request, begin_holding(shop_of(request), name))


@router.get("/maker/{name}/work/{key}", response_class=HTMLResponse)
def work(request: Request, name: str, key: Key) -> Response:
    """Show how far a piece of work is, or what came of it."""
    job, kept = _job(request, name, key), kept_at(shop_of(request), name)
    if not job.finished:
        return page(request, "learning/progress.html", kept=kept, job=job)
    if job.error is not None:
        raise job.error
    if job.what in LEARNED:
        view = learned_view(job.result, kept.chronology, job.base)
        return page(request, "learning/learned.html", kept=kept, job=job, **view)
    if job.what == "hold":
        return page(request, "learning/held.html", kept=kept, **held_view(job.result))
    if job.what == "redate":
        return page(
            request,
            "learning/redated.html",
            kept=kept,
            again=job.result,
            tags=set(shop_of(request).journals.tags()),
            **redated_view(name, job.result.found),
        )
    return page(request, "learning/imported.html", kept=kept, added=job.result)


def _job(request: Request, name: str, key: str, *what: str) -> Job:
    job = shop_of(request).jobs.find(key)
    if job is None or job.about != name or (what and job.what not in what):
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
    job = shop_of(request).jobs.wait(job, PATIENCE_S)
    if job.finished and job.error is not None:
        raise job.error
    return RedirectResponse(f"/maker/{quote(job.about)}/work/{job.key}", 303)
