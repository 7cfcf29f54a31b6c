"""Signing in and out, one's own account, and the owner's list of accounts and devices."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlsplit

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.sharing import Role
from heelstamp.errors import ConflictError
from heelstamp.shop.sharing import SignInRefusedError, WaitError
from heelstamp.web.gate import let_in, let_out, shared_of, sharing_of, signed_in
from heelstamp.web.rendering import page

router = APIRouter()
Name = Annotated[str, Form(max_length=200)]
Secret = Annotated[str, Form(max_length=1000)]
Digest = Annotated[str, Form(pattern=r"^[0-9a-f]{64}$")]


def inside(to: str) -> str:
    """A path of this bench to go on to; the rack in place of anything else."""
    parts = urlsplit(to)
    plain = to.startswith("/") and not to.startswith(("//", "/\\")) and to.isprintable()
    return to if plain and not parts.scheme and not parts.netloc and "\\" not in to else "/"


def _address(request: Request) -> str:
    return request.client.host if request.client else ""


@router.get("/sign-in", response_class=HTMLResponse)
def ask(request: Request, to: Annotated[str, Query(max_length=400)] = "/") -> HTMLResponse:
    """Ask for name and password."""
    return page(request, "accounts/sign_in.html", to=inside(to), error=None, name="")


@router.post("/sign-in", response_class=HTMLResponse)
def sign_in(
    request: Request, name: Name, password: Secret, to: Annotated[str, Form(max_length=400)] = "/"
) -> Response:
    """Open a session with a token of its own; one that the device brought along ends."""
    sharing, shared = sharing_of(request), shared_of(request)
    device = request.headers.get("user-agent", "")
    try:
        token = sharing.sign_in(name, password, _address(request), device)
    except (SignInRefusedError, WaitError) as error:
        waits = isinstance(error, WaitError)
        answer = page(
            request,
            "accounts/sign_in.html",
            status=429 if waits else 401,
            to=inside(to),
            error=error,
            name=name[:60],
        )
        if isinstance(error, WaitError):
            answer.headers["retry-after"] = str(error.seconds)
        return answer
    before = sharing.who(request.cookies.get(shared.cookie, ""))
    if before is not None:
        sharing.store.end(before.digest)
    return let_in(RedirectResponse(inside(to), 303), token, shared)


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End this device's session."""
    sharing_of(request).store.end(signed_in(request).digest)
    return let_out(RedirectResponse("/sign-in", 303), shared_of(request))


@router.get("/account", response_class=HTMLResponse)
def account(request: Request) -> HTMLResponse:
    """Show who is signed in, and on which devices."""
    who, sharing = signed_in(request), sharing_of(request)
    own = [one for one in sharing.standing() if one.account == who.account]
    return page(request, "accounts/account.html", own=own)


@router.post("/account/password")
def change_password(request: Request, old: Secret, new: Secret, again: Secret) -> Response:
    """Change one's own password: every device is signed out, this one is signed in anew."""
    who = signed_in(request)
    if who.role is Role.SECOND_HAND:
        raise ConflictError(
            "a paired device changes no password", remedy="Do it where you signed in."
        )
    if new != again:
        raise ConflictError("the new password was not written the same twice", remedy="Try again.")
    token = sharing_of(request).change_own(who, old, new, _address(request))
    return let_in(RedirectResponse("/account", 303), token, shared_of(request))


@router.post("/account/end")
def end_own(request: Request, digest: Digest) -> Response:
    """End a session of one's own, or, as owner, any."""
    who = signed_in(request)
    sharing_of(request).end(digest, who)
    return RedirectResponse("/sign-in" if digest == who.digest else "/account", 303)


@router.get("/accounts", response_class=HTMLResponse)
def accounts(request: Request) -> HTMLResponse:
    """Show all accounts and all devices that are signed in."""
    sharing = sharing_of(request)
    return page(
        request,
        "accounts/accounts.html",
        accounts=sharing.store.accounts(),
        standing=sharing.standing(),
        roles=sharing.roles(),
        examiners=sharing.examiners,
    )


@router.post("/accounts/add")
def add(
    request: Request, name: Name, role: Annotated[str, Form(max_length=20)], password: Secret
) -> Response:
    """Add an account."""
    sharing_of(request).add(name, role, password)
    return RedirectResponse("/accounts", 303)


@router.post("/accounts/password")
def set_password(request: Request, name: Name, password: Secret) -> Response:
    """Set a new password for an account; its devices are signed out."""
    sharing_of(request).set_password(name, password)
    return RedirectResponse("/accounts", 303)


@router.post("/accounts/remove")
def remove(request: Request, name: Name) -> Response:
    """Remove an account; what it entered stays."""
    sharing_of(request).store.remove(name)
    return RedirectResponse("/accounts", 303)


@router.post("/accounts/end")
def end_any(request: Request, digest: Digest) -> Response:
    """End any session."""
    sharing_of(request).end(digest, signed_in(request))
    return RedirectResponse("/accounts", 303)
