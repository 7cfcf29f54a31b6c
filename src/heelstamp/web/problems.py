"""Refusals as problem documents (RFC 9457): the one form in which the JSON API says no."""

from __future__ import annotations

from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from heelstamp.casework.sharing import NotPermittedError
from heelstamp.errors import ConflictError, HeelstampError, InputError, NotFoundError, StorageError
from heelstamp.shop.sharing import SignInRefusedError, WaitError

PROBLEM = "application/problem+json"
KINDS = {
    400: "unreadable-request",
    401: "not-signed-in",
    403: "not-permitted",
    404: "not-found",
    405: "no-such-method",
    409: "conflict",
    413: "too-large",
    422: "unreadable-content",
    429: "too-many-tries",
    503: "machine-refused",
}
"""Kinds by status; a kind is told by a URN, which leads nowhere and promises no page."""


_STATUS: tuple[tuple[type[HeelstampError], int], ...] = (
    (WaitError, 429),
    (SignInRefusedError, 401),
    (NotPermittedError, 403),
    (NotFoundError, 404),
    (ConflictError, 409),
    (InputError, 422),
    (StorageError, 503),  # the machine refused: the same may do later
)


class Problem(BaseModel):
    """What went wrong, where, what was received, and what to do next (RFC 9457)."""

    type: str = Field(examples=["urn:heelstamp:problem:conflict"])
    title: str
    status: int
    detail: str
    where: str = ""
    received: str = ""
    remedy: str = ""


def problem_of(error: HeelstampError, status: int) -> Problem:
    """Tell an error as a problem."""
    return Problem(
        type=f"urn:heelstamp:problem:{KINDS.get(status, 'fault')}",
        title=error.what,
        status=status,
        detail=str(error),
        where=error.where,
        received=error.received[:200],
        remedy=error.remedy,
    )


def problem(error: HeelstampError, status: int) -> JSONResponse:
    """Write an error as a problem document."""
    told = problem_of(error, status)
    return JSONResponse(told.model_dump(), status, media_type=PROBLEM)


def status_of(error: HeelstampError) -> int:
    """Choose the status of an error by its class; 500 for what is none of these."""
    return next((status for kind, status in _STATUS if isinstance(error, kind)), 500)
