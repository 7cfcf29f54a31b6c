"""The same casework for other programs: JSON in, JSON out, described by OpenAPI at /api.json.

Errors are problem documents (RFC 9457): what is wrong, where, what was received, what to do next.
Entries carry ids given by the caller, so that what is sent twice is entered once.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec
from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from heelstamp.casework.examination import examination_data
from heelstamp.casework.new_entry import NewEntry
from heelstamp.errors import HeelstampError
from heelstamp.shop.planning import next_look
from heelstamp.shop.rack import rack_sheet
from heelstamp.web.rendering import sees_sums, shop_of
from heelstamp.web.signed import signed_by, told_entries, told_head, withheld_from

PROBLEM = "application/problem+json"
Tag = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$", max_length=40)]
Kind = Literal[
    "observation",
    "measurement",
    "treatment",
    "exposure",
    "consent",
    "custody",
    "contents",
    "statement",
    "string_set",
    "grade",
    "colour",
    "case_included",
    "changed_parts",
    "price",
    "title_search",
    "title_note",
    "near_number",
    "material",
    "materials_looked",
    "wording",
    "question",
    "return_verdict",
    "decision",
    "correction",
]


class Problem(BaseModel):
    """What went wrong (RFC 9457)."""

    title: str
    status: int
    detail: str
    where: str
    received: str
    remedy: str


class EntryIn(BaseModel):
    """One entry to make; its body is that of the journal's schema, with an id of its own."""

    model_config = ConfigDict(extra="forbid")
    kind: Kind
    body: dict[str, Any]


class NewEntries(BaseModel):
    """Entries made together: all of them or none."""

    model_config = ConfigDict(extra="forbid")
    by: Annotated[str, Field(min_length=1, max_length=60)]
    entries: Annotated[list[EntryIn], Field(min_length=1, max_length=200)]


_TOLD = {"content": {PROBLEM: {"schema": Problem.model_json_schema()}}}
router = APIRouter(
    prefix="/api",
    responses={
        404: {"description": "There is no such dossier", **_TOLD},
        409: {"description": "It does not fit what stands", **_TOLD},
        422: {"description": "It cannot be read", **_TOLD},
    },
)


def problem(error: HeelstampError, status: int) -> JSONResponse:
    """Write an error as a problem document."""
    told = Problem(
        title=error.what,
        status=status,
        detail=str(error),
        where=error.where,
        received=error.received[:200],
        remedy=error.remedy,
    )
    return JSONResponse(told.model_dump(), status, media_type=PROBLEM)


@router.get("/dossiers")
def dossiers(
    request: Request,
    find: Annotated[str, Query(max_length=40)] = "",
    skip: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
    count: Annotated[int, Query(ge=1, le=200)] = 24,
) -> dict[str, Any]:
    """List dossiers, the newest first."""
    sheet = rack_sheet(shop_of(request), find, skip, count)
    blank = {} if sees_sums(request) else {"sum": ""}
    rows = [msgspec.to_builtins(one) | blank for one in sheet.rows]
    return {"found": sheet.found, "unread": sheet.unread, "dossiers": rows}


@router.get("/dossiers/{tag}")
def dossier(request: Request, tag: Tag) -> dict[str, Any]:
    """What stands in a dossier, in the form of an examination file.

    ``head`` is the digest of the last entry that is told; null where the digests would tell more.
    """
    state = shop_of(request).subject(tag).state
    told = withheld_from(request, state).state(examination_data(state))
    return {
        **told,
        "custody_state": state.custody_state,
        "head": told_head(request, shop_of(request), tag),
    }


@router.get("/dossiers/{tag}/journal")
def journal(request: Request, tag: Tag) -> list[dict[str, Any]]:
    """The entries as they are kept, each with the digest of the one before it."""
    return told_entries(request, shop_of(request), tag)


@router.post("/dossiers/{tag}/entries", status_code=201)
def enter(request: Request, tag: Tag, entries: NewEntries) -> list[dict[str, Any]]:
    """Make entries, all or none; those that stand already with the same body are left out.

    Where the shop is shared they are signed by who is signed in, and ``by`` must be that role.
    """
    made = shop_of(request).enter(
        tag,
        [NewEntry(one.kind, one.body) for one in entries.entries],
        by=signed_by(request, entries.by),
    )
    return [{"seq": one.seq, "kind": one.kind, "digest": one.digest} for one in made]


@router.get("/dossiers/{tag}/date")
def date(request: Request, tag: Tag) -> dict[str, Any]:
    """Date a dossier, with the words that pages and papers print."""
    shop = shop_of(request)
    return shop.finding(tag).data() | {"said": shop.said(tag).data()}


@router.get("/dossiers/{tag}/next")
def next_inspection(request: Request, tag: Tag) -> dict[str, Any]:
    """Plan the next inspection."""
    plain: dict[str, Any] = msgspec.to_builtins(next_look(shop_of(request), tag))
    return plain
