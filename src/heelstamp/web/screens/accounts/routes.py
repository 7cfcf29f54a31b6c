"""Signing in and out, one's own account, and the owner's list of accounts and devices."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.sharing import Role, Session
from heelstamp.casework.sharing.tokens import DAYS_MOST, DAYS_USUAL, SCOPES
from heelstamp.errors import ConflictError
from heelstamp.report.address_code import address_code_svg
from heelstamp.shop.programs import end_token, issue_token, tokens_of
from heelstamp.shop.sharing import SignInRefusedError, WaitError
from heelstamp.web.gate import let_in, let_out, shared_of, sharing_of, signed_in
from heelstamp.web.guard import split_address
from heelstamp.web.rendering import drawn, page

router = APIRouter()
Name = Annotated[str, Form(max_length=200)]
Secret = Annotated[str, Form(max_length=1000)]
Digest = Annotated[str, Form(pattern=r"^[0-9a-f]{64}$")]


def inside(to: str) -> str:
    """A path of this bench to go on to; the rack in place of anything else."""
    parts = split_address(to)
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
    request: Request,
    name: Name,
    password: Secret,
    code: Annotated[str, Form(max_length=40)] = "",
    to: Annotated[str, Form(max_length=400)] = "/",
) -> Response:
    """Open a session with a token of its own; one that the device brought along ends."""
    sharing, shared = sharing_of(request), shared_of(request)
    device = request.headers.get("user-agent", "")
    try:
        token = sharing.sign_in(name, password, _address(request), device, code)
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
    asks = sharing.asks_code(who.account)
    return page(
        request,
        "accounts/account.html",
        own=own,
        asks=asks,
        own_tokens=tokens_of(sharing, who.account),
        scopes=SCOPES,
        days=DAYS_USUAL,
        days_most=DAYS_MOST,
    )


@router.post("/account/second-factor", response_class=HTMLResponse)
def propose_second_factor(request: Request) -> HTMLResponse:
    """Show a new secret for an authenticator; nothing changes before its first code came."""
    secret, address = sharing_of(request).propose_second_factor(_own(request))
    code = drawn(address_code_svg(address, "For the authenticator, as a QR code"))
    return page(request, "accounts/second_factor.html", secret=secret, code=code, recovery=())


@router.post("/account/second-factor/on", response_class=HTMLResponse)
def confirm_second_factor(
    request: Request, code: Annotated[str, Form(max_length=40)], password: Secret
) -> HTMLResponse:
    """Ask for a code from now on, and show once the codes to recover by."""
    who, sharing = _own(request), sharing_of(request)
    recovery = sharing.confirm_second_factor(who, code, password, _address(request))
    return page(request, "accounts/second_factor.html", secret="", code="", recovery=recovery)


@router.post("/account/second-factor/off")
def end_second_factor(request: Request, password: Secret) -> Response:
    """Ask for no code any more."""
    sharing_of(request).end_second_factor(_own(request), password, _address(request))
    return RedirectResponse("/account", 303)


def _own(request: Request) -> Session:
    """Who is signed in, unless on a paired device: it changes nothing of its account."""
    who = signed_in(request)
    if who.role is Role.PAIRED_DEVICE:
        raise ConflictError(
            "a paired device changes nothing of its account", remedy="Do it where you signed in."
        )
    return who


@router.post("/account/password")
def change_password(request: Request, old: Secret, new: Secret, again: Secret) -> Response:
    """Change one's own password: every device is signed out, this one is signed in anew."""
    who = _own(request)
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


@router.post("/account/token", response_class=HTMLResponse)
def add_token(
    request: Request,
    name: Name,
    scope: Annotated[list[str] | None, Form(max_length=5)] = None,
    days: Annotated[int, Form()] = DAYS_USUAL,
) -> HTMLResponse:
    """Issue a token of one's own account, and show it once."""
    plain, made = issue_token(sharing_of(request), _own(request).account, name, scope or (), days)
    answer = page(request, "accounts/token.html", plain=plain, made=made)
    answer.headers["cache-control"] = "no-store"
    return answer


@router.post("/account/token/end")
def end_own_token(request: Request, digest: Digest) -> Response:
    """End a token of one's own account."""
    end_token(sharing_of(request), digest, _own(request).account)
    return RedirectResponse("/account", 303)


@router.post("/accounts/token/end")
def end_any_token(request: Request, digest: Digest) -> Response:
    """End any token."""
    end_token(sharing_of(request), digest)
    return RedirectResponse("/accounts", 303)


@router.get("/accounts", response_class=HTMLResponse)
def accounts(request: Request) -> HTMLResponse:
    """Show all accounts and all devices that are signed in."""
    sharing = sharing_of(request)
    return page(
        request,
        "accounts/accounts.html",
        accounts=sharing.store.accounts(),
        standing=sharing.standing(),
        tokens=tokens_of(sharing),
        asking={one.name for one in sharing.store.accounts() if sharing.asks_code(one.name)},
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


@router.post("/accounts/second-factor-off")
def end_second_factor_of(request: Request, name: Name) -> Response:
    """Let an account that lost its authenticator and its codes sign in by its password again."""
    sharing_of(request).store.end_second_factor(name)
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
