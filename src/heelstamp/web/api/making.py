"""What a program may make: dossiers, entries, photographs, papers."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request, Response

from heelstamp.archive import sha256
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.photographs import details_of
from heelstamp.errors import InputError
from heelstamp.shop.folder import now
from heelstamp.shop.forms import issue_form
from heelstamp.shop.issuing import issue
from heelstamp.shop.new_dossier import open_dossier
from heelstamp.shop.photographs import keep_photograph, photo_plan
from heelstamp.web.api.described import REFUSALS
from heelstamp.web.api.forms import (
    Made,
    NewDossier,
    NewEntries,
    NewPaper,
    NewPhotograph,
    PaperMade,
    PhotographMade,
    Tag,
)
from heelstamp.web.api.once import Once
from heelstamp.web.rendering import shop_of
from heelstamp.web.signed import signed_by, told_head

router = APIRouter(prefix="/api", responses=REFUSALS, route_class=Once, tags=["dossiers"])


@router.post("/dossiers", status_code=201, response_model=Made)
def open_new(request: Request, response: Response, told: NewDossier) -> dict[str, Any]:
    """Open a dossier; the same one sent twice by one hand is opened once."""
    shop = shop_of(request)
    body = told.model_dump(exclude={"by"}, exclude_none=True)
    open_dossier(shop, body, by=signed_by(request, told.by))
    response.headers["location"] = f"/api/dossiers/{told.tag}"
    head = shop.journals.head(told.tag)
    assert head is not None
    return {
        "seq": 1,
        "kind": "instrument",
        "digest": told_head(request, shop, told.tag) or head.digest,
    }


@router.post("/dossiers/{tag}/entries", status_code=201, response_model=list[Made])
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


@router.post("/dossiers/{tag}/photographs", status_code=201, response_model=PhotographMade)
def add_photograph(
    request: Request,
    tag: Tag,
    told: Annotated[NewPhotograph, Form(media_type="multipart/form-data")],
) -> dict[str, Any]:
    """Keep a photograph and its entry; sent twice under one id it is kept once."""
    shop, data = shop_of(request), told.photo.file.read()
    details = details_of(
        photo_plan(),
        EntryStamp(told.id, "", now()),
        name=told.photo.filename or "",
        **told.model_dump(exclude={"photo", "by", "id"}),
    )
    kept = keep_photograph(shop, tag, data, details, by=signed_by(request, told.by))
    return {"id": told.id, "file": sha256(data), "again": [*kept.care.faults]}


@router.post("/dossiers/{tag}/papers", status_code=201, response_model=PaperMade)
def issue_paper(request: Request, response: Response, tag: Tag, told: NewPaper) -> dict[str, Any]:
    """Issue a paper, and enter that it was; the same id issues it once."""
    shop, by = shop_of(request), signed_by(request, told.by)
    if (told.paper == "report") != (told.reader is not None):
        raise InputError(
            "a report names its reader, and no other paper does",
            where="reader",
            received=told.reader or told.paper,
            remedy="Send reader with paper report, and leave it out with the others.",
        )
    if told.reader is not None:
        digest = issue(shop, tag, told.reader, id_=told.id, by=by)
    else:
        digest = issue_form(
            shop, tag, told.paper, id_=told.id, by=by, lengths=told.lengths, prices=told.prices
        )
    address = f"/api/dossiers/{tag}/papers/{digest}"
    response.headers["location"] = address
    return {"digest": digest, "address": address}
