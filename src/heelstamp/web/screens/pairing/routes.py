"""Pairing a device: a code at the desk, four digits on both, let in by a person."""

from __future__ import annotations

import hashlib
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.sharing.pairing import GOOD_FOR
from heelstamp.errors import ConflictError, NotFoundError
from heelstamp.report.address_code import address_code_svg
from heelstamp.web.gate import CLAIM_COOKIE, let_in, shared_of, sharing_of, signed_in
from heelstamp.web.rendering import drawn, page

router = APIRouter()


class NotHereError(NotFoundError):
    """What only a bench with a certificate of its own has."""


@router.get("/trust", response_class=HTMLResponse)
def trust(request: Request) -> HTMLResponse:
    """Show how a device comes to trust the shop's own certificate, with its figures."""
    shared = shared_of(request)
    if not shared.authority:
        raise NotHereError("this bench has no certificate of its own", where="/trust")
    figures = hashlib.sha256(shared.authority).hexdigest().upper()
    pairs = ":".join(figures[at : at + 2] for at in range(0, len(figures), 2))
    return page(
        request,
        "pairing/trust.html",
        address=shared.address,
        figures=pairs,
        code=drawn(
            address_code_svg(f"{shared.address}/trust", "Address of this page, as a QR code")
        ),
        print_code=drawn(address_code_svg(figures, "The figures, as a QR code")),
    )


@router.get("/trust/authority.crt")
def authority(request: Request) -> Response:
    """Give the certificate that a device is asked to trust."""
    shared = shared_of(request)
    if not shared.authority:
        raise NotHereError("this bench has no certificate of its own", where="/trust")
    headers = {"content-disposition": 'attachment; filename="heelstamp-authority.crt"'}
    return Response(shared.authority, media_type="application/x-x509-ca-cert", headers=headers)


@router.get("/pair", response_class=HTMLResponse)
def desk(request: Request) -> HTMLResponse:
    """Show the code of this desk, or the digits of the device that asked."""
    sharing = sharing_of(request)
    offer = sharing.offered(signed_in(request))
    link = code = None
    if offer is not None and not offer.claim:
        link = f"{shared_of(request).address}/pair/{quote(offer.code)}"
        code = drawn(address_code_svg(link))
    left = 0 if offer is None else max(0, int((offer.until - sharing.now()).total_seconds()))
    return page(request, "pairing/pairing.html", offer=offer, link=link, code=code, left=left)


@router.post("/pair")
def offer(request: Request) -> Response:
    """Make a new code; an earlier one of this desk ends."""
    sharing_of(request).offer(signed_in(request))
    return RedirectResponse("/pair", 303)


@router.post("/pair/desk/let-in")
def confirm(request: Request, check: Annotated[str, Form(pattern=r"^[0-9]{4}$")]) -> Response:
    """Let in the device that shows these digits."""
    sharing_of(request).confirm(signed_in(request), check)
    return RedirectResponse("/pair", 303)


@router.post("/pair/desk/refuse")
def refuse(request: Request) -> Response:
    """End the code, and let nobody in."""
    sharing_of(request).refuse(signed_in(request))
    return RedirectResponse("/pair", 303)


@router.get("/pair/{code}", response_class=HTMLResponse)
def invited(request: Request, code: str) -> HTMLResponse:
    """Ask the device's hand; a look alone does not use the code up."""
    good = sharing_of(request).is_good(code)
    return page(
        request, "pairing/pair_device.html", status=200 if good else 410, code=code, good=good
    )


@router.post("/pair/{code}")
def claim(request: Request, code: str) -> Response:
    """Ask with the code, once."""
    offer = sharing_of(request).claim(code, request.headers.get("user-agent", ""))
    answer = RedirectResponse("/pairing", 303)
    answer.set_cookie(
        CLAIM_COOKIE,
        offer.claim,
        max_age=int(GOOD_FOR.total_seconds()),
        path="/pairing",
        secure=shared_of(request).secure,
        httponly=True,
        samesite="strict",
    )
    return answer


@router.get("/pairing", response_class=HTMLResponse)
def waiting(request: Request) -> Response:
    """Show the four digits until a person at the desk has decided, then sign in."""
    sharing, shared = sharing_of(request), shared_of(request)
    held = request.cookies.get(CLAIM_COOKIE, "")
    asked = sharing.asked(held)
    try:
        token = sharing.collect(held)
    except ConflictError as error:
        return page(request, "refusal.html", status=410, error=error)
    if token is None:
        return page(request, "pairing/pair_wait.html", check=asked.check if asked else "")
    before = sharing.who(request.cookies.get(shared.cookie, ""))
    if before is not None:
        sharing.store.end(before.digest)
    answer = let_in(RedirectResponse("/", 303), token, shared)
    answer.delete_cookie(CLAIM_COOKIE, path="/pairing")
    return answer
