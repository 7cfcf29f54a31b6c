"""The census of a maker: rows taken in, change-overs learned from it, conclusions made again.

Whatever takes seconds is begun by a form and waited for on a page of its own, which says how far
it is and comes again by itself; nothing that was learned is written before a person accepts it.
"""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Path, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.census.sheet import TableError
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.desk_chronologies import kept_at
from heelstamp.shop.desk_learning import (
    accept,
    add_closed,
    begin_holding,
    begin_import,
    begin_learning,
    begin_redating,
)
from heelstamp.shop.desk_money import SHEET_MAX
from heelstamp.shop.piece_work import Piece, PieceWork, settle
from heelstamp.web.rendering import desk_of, hand_of, page
from heelstamp.web.screens.learning.forms import Accept, Dossier, Learn, Redate, Spreadsheet
from heelstamp.web.screens.learning.view import held_view, learned_view, redated_view

router = APIRouter()
Key = Annotated[str, Path(pattern="^[0-9a-f]{24}$")]
PATIENCE_S = 2.0
"""A form waits so long for its work; what takes longer is waited for on the page."""


def work_of(request: Request) -> PieceWork:
    """Return the work of the shop."""
    work: PieceWork = request.app.state.work
    return work


@router.post("/maker/{name}/census")
def take_census(request: Request, name: str, told: Annotated[Spreadsheet, Form()]) -> Response:
    """Take a spreadsheet into the census, all or none."""
    table, columns = told.table, told.columns
    mapped = (b"", "")
    if columns is not None and columns.filename:
        mapped = columns.file.read(SHEET_MAX + 1), columns.filename
    sheet = (table.file.read(SHEET_MAX + 1), table.filename or "")
    return _waited(request, begin_import(desk_of(request), work_of(request), name, sheet, mapped))


@router.post("/maker/{name}/dossier")
def take_dossier(request: Request, name: str, told: Annotated[Dossier, Form()]) -> Response:
    """Take a closed dossier into the census of its own chronology."""
    desk = desk_of(request)
    about = desk.subject(told.tag).state.instrument.chronology
    if about != name:
        raise InputError(
            "this dossier rests on another chronology",
            where=told.tag,
            received=about,
            remedy="Add it there.",
        )
    added = add_closed(desk, told.tag, while_open=told.while_open)
    done = f"{told.tag} in the census, which holds {added.total}"
    return RedirectResponse(f"/maker/{quote(name)}?done={quote(done)}#census", 303)


@router.post("/maker/{name}/learn")
def learn(request: Request, name: str, told: Annotated[Learn, Form()]) -> Response:
    """Begin to learn; nothing is written."""
    desk, work = desk_of(request), work_of(request)
    return _waited(request, begin_learning(desk, work, name, **told.fields()))


@router.post("/maker/{name}/accept")
def accepted(request: Request, name: str, told: Annotated[Accept, Form()]) -> Response:
    """Write what was learned as the new edition."""
    new = accept(desk_of(request), _piece(request, name, told.key, "learn"), by=hand_of(request))
    done = f"edition {new.edition}, learned"
    return RedirectResponse(f"/maker/{quote(name)}?done={quote(done)}", 303)


@router.post("/maker/{name}/redate")
def redate(request: Request, name: str, told: Annotated[Redate, Form()]) -> Response:
    """Begin to date census and dossiers again, by the present edition or by what was learned."""
    desk, work = desk_of(request), work_of(request)
    candidate = _piece(request, name, told.learned, "learn") if told.learned else None
    piece = begin_redating(desk, work, name, keep=told.keep, candidate=candidate)
    return _waited(request, piece)


@router.post("/maker/{name}/held")
def hold(request: Request, name: str) -> Response:
    """Begin to tell whether the shop's own ranges held."""
    return _waited(request, begin_holding(desk_of(request), work_of(request), name))


@router.get("/maker/{name}/work/{key}", response_class=HTMLResponse)
def work(request: Request, name: str, key: Key) -> Response:
    """Show how far a piece of work is, or what came of it."""
    piece, kept = _piece(request, name, key), kept_at(desk_of(request), name)
    if not piece.finished:
        return page(request, "learning/progress.html", kept=kept, piece=piece)
    if piece.error is not None:
        return _refused(request, piece)
    if piece.what == "learn":
        view = learned_view(piece.result, kept.chronology, piece.base)
        return page(request, "learning/learned.html", kept=kept, piece=piece, **view)
    if piece.what == "hold":
        return page(request, "learning/held.html", kept=kept, **held_view(piece.result))
    if piece.what == "redate":
        return page(
            request,
            "learning/redated.html",
            kept=kept,
            again=piece.result,
            tags=set(desk_of(request).shop.journals.tags()),
            **redated_view(name, piece.result.found),
        )
    return page(request, "learning/imported.html", kept=kept, added=piece.result)


def _piece(request: Request, name: str, key: str, what: str = "") -> Piece:
    piece = work_of(request).find(key)
    if piece is None or piece.about != name or (what and piece.what != what):
        raise InputError(
            "no such work",
            where=name,
            received=key,
            remedy="It was let go, or the bench was started again: begin it anew.",
        )
    if what and not (piece.finished and piece.error is None):
        raise ConflictError("this work is not done", where=name, remedy="Wait until it is.")
    return piece


def _waited(request: Request, piece: Piece) -> Response:
    settle(piece, PATIENCE_S)
    if piece.finished and piece.error is not None:
        return _refused(request, piece)
    return RedirectResponse(f"/maker/{quote(piece.about)}/work/{piece.key}", 303)


def _refused(request: Request, piece: Piece) -> Response:
    error = piece.error
    assert error is not None
    if isinstance(error, TableError):
        return page(request, "learning/table_refused.html", status=422, error=error)
    raise error
