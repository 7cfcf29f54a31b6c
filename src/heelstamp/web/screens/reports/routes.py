"""Reports: who reads it? A preview in the browser's own viewer, and reports issued for good.

The browser's viewer of PDF files sits in an ``object``; for this page alone the policy allows
objects of this origin, and a PDF of this bench may stand in a frame of this origin. Nothing else is
loosened.
"""

from __future__ import annotations

import shutil
from pathlib import Path as FilePath
from pathlib import PurePosixPath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Path, Query
from fastapi.responses import FileResponse, HTMLResponse, Response
from starlette.types import Receive, Scope, Send

from heelstamp.casework.papers.document import OUTSIDERS, READERS, Reader
from heelstamp.casework.public_words import public_entries, staying
from heelstamp.casework.sharing.rights import SUM, NotPermittedError
from heelstamp.catalogue.entries import body_id
from heelstamp.errors import InputError
from heelstamp.report.check_page import check_page
from heelstamp.shop.forms import form_at, issue_form, lacking, typeset_form
from heelstamp.shop.handed_out import Known, check_here
from heelstamp.shop.issuing import issue, issued, issued_report
from heelstamp.shop.pack import PUBLIC, make_pack
from heelstamp.shop.pack import READERS as PACK_READERS
from heelstamp.shop.reports import preview, review_of
from heelstamp.shop.shop_key import known_keys
from heelstamp.shop.signing import sign_state
from heelstamp.web.at_bench import AtBench
from heelstamp.web.guard import policy
from heelstamp.web.rendering import sees_sums
from heelstamp.web.screens.reports.forms import Check, Issue, IssueForm, Words
from heelstamp.wording.about_forms import READERS as FORM_READERS
from heelstamp.wording.about_forms import TITLES

if TYPE_CHECKING:
    from heelstamp.shop.verification import Verified

router = APIRouter()
SCREEN = "reports"
SEES = {
    "consignor": "everything, as the shop does",
    "buyer": "what is public alone: no names, no notes, the serial number masked",
    "insurer": "what is public alone: no names, no notes, the serial number masked",
    "shop": "everything",
}
HOLDS = {
    "buyer": "their report; no names, no place, the number masked",
    "insurer": "their papers; the schedule has owner, value and full number",
    PUBLIC: "no paper, no names, no place, the number masked",
    "consignor": "the whole record",
    "shop": "the whole record; another shop can take it in",
}
PAGE_POLICY = policy(**{"object-src": "'self'", "frame-src": "'self'"})
PDF_POLICY = policy(**{"object-src": "'self'", "frame-ancestors": "'self'"})


@router.get("/dossier/{tag}/reports", response_class=HTMLResponse)
def reports(here: AtBench, reader: Annotated[str, Query(max_length=20)] = "") -> HTMLResponse:
    """Show the readers, the preview of one, and what was issued."""
    answer = here.page(
        "reports/reports.html",
        SCREEN,
        readers=READERS,
        sees=SEES,
        reader=reader and _reader(reader),
        outsider=reader in OUTSIDERS,
        leaving=review_of(here.subject, _reader(reader)) if reader else (),
        marked={body_id(one) for one in here.state.bodies() if one.public},
        staying=staying(here.state) if reader in OUTSIDERS else (),
        issued=issued(here.shop, here.tag),
        signed={
            one.digest: sign_state(here.shop, one.digest) for one in issued(here.shop, here.tag)
        },
        keys=tuple(one for one in known_keys(here.shop.folder).values() if not one.earlier),
        packs=packs_of(here),
        pack_holds=HOLDS,
        titles=TITLES,
        listings=("listing", "showing page"),
        form_readers=FORM_READERS,
        lacking=lacking(here.shop, here.tag),
    )
    answer.headers["content-security-policy"] = PAGE_POLICY
    return answer


@router.post("/dossier/{tag}/reports/check", response_class=HTMLResponse)
def check(here: AtBench, told: Annotated[Check, Form()]) -> HTMLResponse:
    """Check a file that came back: a paper, a pack in a ZIP file, a journal."""
    name = PurePosixPath((told.paper.filename or "the file").replace("\\", "/")).name or "the file"
    found: tuple[Verified, ...] = ()
    refused = ""
    with TemporaryDirectory() as folder:
        path = FilePath(folder, f"came-back{_ending(name)}")
        with path.open("wb") as file:
            shutil.copyfileobj(told.paper.file, file)
        try:
            found = check_here(here.shop, path, Known())
        except InputError as error:
            refused = str(error)
    return here.page(
        "reports/checked.html", SCREEN, name=name, found=found, refused=refused, asked=path.name
    )


@router.get("/dossier/{tag}/reports/check.html")
def checking_page() -> Response:
    """Send the page that checks papers, packs and journals in a browser, to be handed out."""
    headers = {"content-disposition": 'attachment; filename="check.html"'}
    return Response(check_page(), media_type="text/html", headers=headers)


@router.get("/dossier/{tag}/pack/{reader}.zip")
def pack(here: AtBench, reader: Annotated[str, Path(pattern="^[a-z]{1,20}$")]) -> Response:
    """Send the pack for one reader; nothing is entered."""
    if reader not in ("buyer", PUBLIC):  # an insurer's holds value and owner
        _require_sums(here, f"pack for the {reader}")
    folder = TemporaryDirectory()
    try:
        path = FilePath(folder.name, f"{here.tag}-{reader}.zip")
        make_pack(here.shop, here.tag, reader, path)
    except BaseException:
        folder.cleanup()
        raise
    return _SentOnce(folder, path)


class _SentOnce(FileResponse):
    """A pack from a folder that goes when it is sent, or when the other end stops listening."""

    def __init__(self, folder: TemporaryDirectory[str], path: FilePath) -> None:
        super().__init__(
            path,
            media_type="application/zip",
            filename=path.name,
            headers={"cache-control": "no-store"},
        )
        self._folder = folder

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await super().__call__(scope, receive, send)
        finally:
            self._folder.cleanup()


@router.get("/dossier/{tag}/preview/{reader}.pdf")
def preview_pdf(here: AtBench, reader: str) -> Response:
    """Send the report for one reader as it would be issued now."""
    _require_whole(here, _reader(reader))
    data = preview(here.shop, here.tag, _reader(reader))
    return _pdf(data, f"{here.tag}-{reader}")


@router.post("/dossier/{tag}/reports")
def issue_report(here: AtBench, told: Annotated[Issue, Form()]) -> Response:
    """Issue the report for one reader: kept, and its digest entered."""
    issue(here.shop, here.tag, _reader(told.reader), id_=told.stamp("p").id, by=here.hand)
    return here.back(SCREEN, reader=told.reader)


@router.get("/dossier/{tag}/forms/preview/{name}.pdf")
def preview_form(here: AtBench, name: str, single: bool = False) -> Response:
    """Send another paper of the shop as it would be issued now."""
    paper = form_at(here.shop, here.tag, name, lengths=here.lengths)
    return _pdf(typeset_form(here.shop, here.tag, paper, single=single), f"{here.tag}-{name}")


@router.post("/dossier/{tag}/forms")
def issue_other(here: AtBench, told: Annotated[IssueForm, Form()]) -> Response:
    """Issue another paper of the shop: kept, and entered as a version."""
    issue_form(
        here.shop,
        here.tag,
        told.paper,
        id_=told.stamp("p").id,
        by=here.hand,
        lengths=here.lengths,
        single=told.single,
    )
    return here.back(SCREEN)


@router.get("/dossier/{tag}/forms/issued/{digest}.pdf")
def issued_form(here: AtBench, digest: Annotated[str, Path(pattern="^[0-9a-f]{64}$")]) -> Response:
    """Send another paper that was issued, byte for byte."""
    data = issued_report(here.shop, here.tag, digest, report=False)
    return _pdf(data, f"{here.tag}-{digest[:8]}")


@router.get("/dossier/{tag}/paper/{digest}.pdf")
def paper(here: AtBench, digest: Annotated[str, Path(pattern="^[0-9a-f]{64}$")]) -> Response:
    """Send a report that was issued, byte for byte."""
    for one in issued(here.shop, here.tag):
        if one.digest == digest:
            _require_whole(here, one.reader)
    return _pdf(issued_report(here.shop, here.tag, digest), f"{here.tag}-{digest[:8]}")


@router.post("/dossier/{tag}/reports/words")
def words(here: AtBench, told: Annotated[Words, Form()]) -> Response:
    """Let the words of an entry go to outsiders, or keep them with the shop."""
    here.enter(public_entries(here.state, told.stamp("c"), told.entry, told.public))
    return here.back(SCREEN, reader=told.reader)


def _ending(name: str) -> str:
    """The ending of a file's name where it is one of what can be checked."""
    found = PurePosixPath(name).suffix.lower()
    return found if found in {".pdf", ".zip", ".html", ".json", ".jsonl"} else ""


def packs_of(here: AtBench) -> tuple[tuple[str, str], ...]:
    """Readers whose pack may be had now, each with why it may not; empty where it may."""
    reports = {one.reader for one in issued(here.shop, here.tag) if one.paper == "report"}
    told = []
    for one in PACK_READERS:
        why = ""
        if one not in ("buyer", PUBLIC) and not sees_sums(here.request):
            continue
        if one in OUTSIDERS and one not in reports:
            why = f"issue the report for the {one} first"
        told.append((one, why))
    return tuple(told)


def _require_whole(here: AtBench, reader: str) -> None:
    """Refuse a paper of the whole record, journal and all, to who may not see every entry."""
    if reader not in OUTSIDERS:
        _require_sums(here, f"report for the {reader}")


def _require_sums(here: AtBench, where: str) -> None:
    if not sees_sums(here.request):
        raise NotPermittedError(
            "this holds the whole record, or sums of it",
            where=where,
            remedy=f"It takes the role {SUM.see.value}.",
        )


def _reader(reader: str) -> Reader:
    if reader not in READERS:
        raise InputError("no such reader", received=reader, remedy=f"One of {', '.join(READERS)}.")
    return reader


def _pdf(data: bytes, name: str) -> Response:
    headers = {
        "content-disposition": f'inline; filename="{name}.pdf"',
        "cache-control": "no-store",
        "content-security-policy": PDF_POLICY,
    }
    return Response(data, media_type="application/pdf", headers=headers)
