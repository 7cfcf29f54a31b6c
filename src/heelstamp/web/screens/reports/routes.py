"""Reports: who reads it? A preview in the browser's own viewer, and reports issued for good.

The browser's viewer of PDF files sits in an ``object``; for this page alone the policy allows
objects of this origin, and a PDF of this bench may stand in a frame of this origin. Nothing else is
loosened.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Path, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.papers.document import OUTSIDERS, READERS, Reader
from heelstamp.casework.public_words import public_entries, staying
from heelstamp.casework.sharing.rights import SUM, NotPermittedError
from heelstamp.catalogue.entries import body_id
from heelstamp.errors import InputError
from heelstamp.shop.forms import form_at, issue_form, lacking, typeset_form
from heelstamp.shop.reports import issue, issued, issued_as, issued_report, preview, review_of
from heelstamp.web.at_bench import AtBench
from heelstamp.web.guard import policy
from heelstamp.web.rendering import sees_sums
from heelstamp.web.screens.reports.forms import Check, Issue, IssueForm, Words
from heelstamp.wording.about_forms import READERS as FORM_READERS
from heelstamp.wording.about_forms import TITLES

router = APIRouter()
SCREEN = "reports"
SEES = {
    "consignor": "everything, as the shop does",
    "buyer": "what is public alone: no names, no notes, the serial number masked",
    "insurer": "what is public alone: no names, no notes, the serial number masked",
    "shop": "everything",
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
        titles=TITLES,
        form_readers=FORM_READERS,
        lacking=lacking(here.shop, here.tag),
    )
    answer.headers["content-security-policy"] = PAGE_POLICY
    return answer


@router.post("/dossier/{tag}/reports/check", response_class=HTMLResponse)
def check(here: AtBench, told: Annotated[Check, Form()]) -> HTMLResponse:
    """Say whether a file is a report that was issued here, unchanged."""
    return here.page(
        "reports/checked.html",
        SCREEN,
        name=told.paper.filename or "the file",
        found=issued_as(here.shop, here.tag, told.paper.file.read()),
    )


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


def _require_whole(here: AtBench, reader: str) -> None:
    """Refuse a paper of the whole record, journal and all, to who may not see every entry."""
    if reader not in OUTSIDERS and not sees_sums(here.request):
        raise NotPermittedError(
            "this paper holds the whole record, with sums",
            where=f"report for the {reader}",
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
