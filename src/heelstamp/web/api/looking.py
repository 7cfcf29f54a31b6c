"""What a program may look at: dossiers, journals, findings, price, photographs, papers, changes."""

from __future__ import annotations

from typing import Annotated, Any

import msgspec
from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from heelstamp.casework.examination import examination_data
from heelstamp.errors import ConflictError, NotFoundError
from heelstamp.media.stored import StoredFiles
from heelstamp.shop.changes import changes_since
from heelstamp.shop.issuing import issued
from heelstamp.shop.jobs import NoSuchJobError
from heelstamp.shop.learning import Learned
from heelstamp.shop.photographs import photograph_at, small_copy
from heelstamp.shop.planning import next_look
from heelstamp.shop.prices import priced
from heelstamp.shop.rack import rack_sheet
from heelstamp.shop.recordings import recording_at
from heelstamp.web.api.described import REFUSALS, SAID, of_type
from heelstamp.web.api.forms import (
    Changes,
    Digest,
    DossierOut,
    EntryOut,
    Frame,
    Known,
    PaperOut,
    Rows,
    Tag,
    WorkOut,
)
from heelstamp.web.at_bench import Bench
from heelstamp.web.problems import problem_of, status_of
from heelstamp.web.rendering import KEEP_NOTHING, sees_sums, shop_of
from heelstamp.web.screens.recordings import routes as recordings
from heelstamp.web.screens.reports import routes as reports
from heelstamp.web.signed import told_entries, told_head, withheld_from

router = APIRouter(prefix="/api", responses=REFUSALS, tags=["dossiers"])
Key = Annotated[str, Path(pattern="^[0-9a-f]{24}$")]
PackReader = Annotated[str, Path(pattern="^[a-z]{1,20}$")]
LENT_S = 60.0
"""Seconds for which an address of the object store holds."""
Answers = dict[int | str, dict[str, Any]]
BYTES = {"schema": {"type": "string", "format": "binary"}}
JPEG: Answers = {
    200: {"content": {"image/jpeg": BYTES}, "description": "A copy without what a camera noted"}
}
PDF: Answers = {
    200: {
        "content": dict.fromkeys(("application/pdf", "application/zip", "text/html"), BYTES),
        "description": "The file as it was issued: a paper, a listing, a showing page",
    }
}
PACK: Answers = {200: {"content": {"application/zip": BYTES}, "description": "The pack"}}
SOUND: Answers = {
    200: {"content": {"audio/*": BYTES}, "description": "The recording"},
    206: {"content": {"audio/*": BYTES}, "description": "The range that was asked for"},
}


@router.get("/dossiers", response_model=Rows)
def dossiers(
    request: Request,
    response: Response,
    find: Annotated[str, Query(max_length=40)] = "",
    skip: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
    count: Annotated[int, Query(ge=1, le=200)] = 24,
) -> dict[str, Any]:
    """List dossiers, the newest first; ``Link`` names the next page (RFC 8288)."""
    sheet = rack_sheet(shop_of(request), find, skip, count)
    blank = {} if sees_sums(request) else {"sum": ""}
    rows = [msgspec.to_builtins(one) | blank for one in sheet.rows]
    if skip + count < sheet.found:
        further = request.url.include_query_params(skip=skip + count, count=count)
        response.headers["link"] = f'<{further.path}?{further.query}>; rel="next"'
    return {"found": sheet.found, "unread": sheet.unread, "dossiers": rows}


@router.get("/dossiers/{tag}", response_model=DossierOut)
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


@router.get(
    "/dossiers/{tag}/journal", response_model=list[EntryOut], response_model_exclude_unset=True
)
def journal(
    request: Request,
    tag: Tag,
    since: Annotated[str, Query(pattern=r"^([0-9a-f]{64})?$")] = "",
    count: Annotated[int, Query(ge=1, le=1000)] = 1000,
) -> list[dict[str, Any]]:
    """The entries as they are kept, each with the digest of the one before it.

    ``since`` is the digest of the last entry that is known: those after it are told, at most
    ``count``.
    """
    entries = told_entries(request, shop_of(request), tag)
    return entries_after(tag, entries, since)[:count]


def entries_after(tag: str, entries: list[dict[str, Any]], since: str) -> list[dict[str, Any]]:
    """The entries after the one with a digest; all of them without one.

    Raises
    ------
    ConflictError
        None of them has it: the caller's journal is another one.
    """
    if not since:
        return entries
    for n, one in enumerate(entries):
        if one.get("digest") == since:
            return entries[n + 1 :]
    raise ConflictError(
        "no entry of this dossier has this digest",
        where=tag,
        received=since,
        remedy="Ask without it, and compare the journal with yours.",
    )


@router.post("/changes", response_model=Changes, response_model_exclude_unset=True)
def changes(request: Request, known: Known) -> dict[str, Any]:
    """What was entered since: for each dossier the entries after the digest that is known.

    A dossier that is not named is told from its beginning. Nothing is changed by asking.
    """
    shop = shop_of(request)
    found, more = [], False
    left = known.count
    for tag in changes_since(shop, known.known):
        if left <= 0:
            more = True
            break
        told = entries_after(tag, told_entries(request, shop, tag), known.known.get(tag, ""))
        entries = told[:left]
        left -= len(entries)
        more |= len(entries) < len(told)
        if entries:
            found.append({"tag": tag, "head": entries[-1].get("digest"), "entries": entries})
    return {"changes": found, "more": more}


@router.get("/dossiers/{tag}/date", responses=of_type("DateFinding", **SAID))
def date(request: Request, tag: Tag) -> JSONResponse:
    """Date a dossier, with the words that pages and papers print."""
    shop = shop_of(request)
    return JSONResponse(shop.finding(tag).data() | {"said": shop.said(tag).data()})


@router.get("/dossiers/{tag}/next", responses=of_type("Plan"))
def next_inspection(request: Request, tag: Tag) -> JSONResponse:
    """Plan the next inspection."""
    return JSONResponse(msgspec.to_builtins(next_look(shop_of(request), tag)))


@router.get("/dossiers/{tag}/price", responses=of_type("PriceFinding"))
def price(
    request: Request, tag: Tag, offer: Annotated[str, Query(pattern=r"^[0-9]{0,12}$")] = ""
) -> JSONResponse:
    """Three figures apart: market, insured and net, and what they rest on."""
    found = priced(shop_of(request), tag, offer)
    if found.finding is None:
        assert found.refused is not None
        raise ConflictError(
            found.refused.what,
            where=tag,
            received=found.refused.received or None,
            remedy=found.refused.remedy,
        )
    return JSONResponse(msgspec.to_builtins(found.finding))


@router.get("/dossiers/{tag}/photographs/{frame}", responses=JPEG, response_class=Response)
def photograph(
    request: Request, tag: Tag, frame: Frame, wide: Annotated[int, Query(ge=64, le=4000)] = 1600
) -> Response:
    """Send a copy of a frame, no wider than asked for."""
    shop = shop_of(request)
    data = small_copy(shop, photograph_at(shop, tag, frame), wide)
    return Response(data, media_type="image/jpeg")


@router.get("/dossiers/{tag}/papers", response_model=list[PaperOut])
def papers(request: Request, tag: Tag) -> list[dict[str, Any]]:
    """List the papers that were issued, the newest first."""
    return [
        {
            "paper": one.paper,
            "reader": one.reader,
            "version": one.version,
            "digest": one.digest,
            "at": one.at,
            "by": one.by,
            "standing": one.standing,
        }
        for one in issued(shop_of(request), tag)
    ]


@router.get("/work/{key}", response_model=WorkOut)
def work(request: Request, key: Key) -> WorkOut:
    """Tell how far work is that an act began, or what came of it."""
    job = shop_of(request).jobs.find(key)
    if job is None:
        raise NoSuchJobError(
            "no such work",
            where=key,
            remedy="It was let go, or the bench was started again: begin it anew.",
        )
    learned = job.result.new.chronology.edition if isinstance(job.result, Learned) else None
    return WorkOut(
        key=job.key,
        what=job.what,
        about=job.about,
        standing=job.standing,
        share=job.share,
        stage=job.stage,
        edition=learned,
        problem=None if job.error is None else problem_of(job.error, status_of(job.error)),
    )


@router.get("/dossiers/{tag}/packs/{reader}", responses=PACK, response_class=Response)
def pack(request: Request, tag: Tag, reader: PackReader) -> Response:
    """Send what one reader gets of a dossier, in one bag (BagIt 1.0, in a ZIP file)."""
    return reports.pack(Bench(request, tag), reader)


@router.get("/dossiers/{tag}/recordings/{recording}", responses=SOUND, response_class=Response)
def recording(request: Request, tag: Tag, recording: Frame, direct: bool = False) -> Response:
    """Send a recording, whole or the range that is asked for; ``direct`` as for a paper."""
    shop = shop_of(request)
    if direct and isinstance(shop.files, StoredFiles):
        kept = recording_at(shop, tag, recording).file
        return RedirectResponse(shop.files.lent(kept, LENT_S), 307, KEEP_NOTHING)
    return recordings.sound(Bench(request, tag), recording)


@router.get("/dossiers/{tag}/papers/{digest}", responses=PDF, response_class=Response)
def paper(request: Request, tag: Tag, digest: Digest, direct: bool = False) -> Response:
    """Send a paper that was issued, byte for byte.

    With ``direct``, where the shop's files are in an object store, the answer is an address there
    (307) that holds for a minute, for whoever has it.
    """
    shop = shop_of(request)
    if digest not in {one.digest for one in issued(shop, tag)}:
        raise NotFoundError(
            "no such paper was issued", where=tag, received=digest, remedy="List the papers."
        )
    if direct and isinstance(shop.files, StoredFiles):
        return RedirectResponse(shop.files.lent(digest, LENT_S), 307, KEEP_NOTHING)
    kinds = {one.digest: one.media_type for one in shop.journals.files()}
    return Response(shop.files.get(digest), media_type=kinds.get(digest, "application/pdf"))
