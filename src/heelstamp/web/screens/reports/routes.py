"""Papers: who reads it? A preview in the browser's own viewer, and papers issued for good.

The browser's viewer of PDF files sits in an ``object``; for this page alone the policy allows
objects of this origin, and a PDF of this bench may stand in a frame of this origin. Nothing else is
loosened.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Path, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.papers.document import READERS, Reader
from heelstamp.errors import InputError
from heelstamp.shop.reports import issue, issued, issued_as, issued_report, preview
from heelstamp.web.forms import Id, Word, back, new_id
from heelstamp.web.guard import policy
from heelstamp.web.rendering import desk_of, hand_of, page

router = APIRouter()
SCREEN = "reports"
SEES = {
    "consignor": "everything, as the shop does",
    "buyer": "no names, no place, no private frame, the serial number masked",
    "insurer": "no names, no place, no private frame, the serial number masked",
    "shop": "everything",
}
PAGE_POLICY = policy(**{"object-src": "'self'", "frame-src": "'self'"})
PDF_POLICY = policy(**{"object-src": "'self'", "frame-ancestors": "'self'"})


@router.get("/dossier/{tag}/reports", response_class=HTMLResponse)
def papers(
    request: Request, tag: str, reader: Annotated[str, Query(max_length=20)] = ""
) -> HTMLResponse:
    """Show the readers, the preview of one, and what was issued."""
    desk = desk_of(request)
    answer = page(
        request,
        "reports/reports.html",
        tag=tag,
        screen=SCREEN,
        subject=desk.subject(tag),
        readers=READERS,
        sees=SEES,
        reader=reader and _reader(reader),
        issued=issued(desk, tag),
    )
    answer.headers["content-security-policy"] = PAGE_POLICY
    return answer


@router.post("/dossier/{tag}/reports/check", response_class=HTMLResponse)
def check(request: Request, tag: str, paper: Annotated[UploadFile, File()]) -> HTMLResponse:
    """Say whether a file is a paper that was issued here, unchanged."""
    desk = desk_of(request)
    return page(
        request,
        "reports/checked.html",
        tag=tag,
        screen=SCREEN,
        subject=desk.subject(tag),
        name=paper.filename or "the file",
        found=issued_as(desk, tag, paper.file.read()),
    )


@router.get("/dossier/{tag}/preview/{reader}.pdf")
def preview_pdf(request: Request, tag: str, reader: str) -> Response:
    """Give the report for one reader as it would be issued now."""
    desk = desk_of(request)
    return _pdf(preview(desk, tag, _reader(reader)), f"{tag}-{reader}")


@router.post("/dossier/{tag}/reports")
def issue_paper(request: Request, tag: str, reader: Word, id: Id = "") -> Response:  # noqa: A002
    """Issue the report for one reader: kept, and its digest entered."""
    desk = desk_of(request)
    issue(desk, tag, _reader(reader), id_=id or new_id("p"), by=hand_of(request))
    return back(tag, SCREEN, reader=reader)


@router.get("/dossier/{tag}/paper/{digest}.pdf")
def paper(
    request: Request, tag: str, digest: Annotated[str, Path(pattern="^[0-9a-f]{64}$")]
) -> Response:
    """Give a paper that was issued, byte for byte."""
    return _pdf(issued_report(desk_of(request), tag, digest), f"{tag}-{digest[:8]}")


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
