"""Refusals as problem documents (RFC 9457): the one form in which the JSON API says no."""

from __future__ import annotations

from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from heelstamp.errors import HeelstampError

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


class Problem(BaseModel):
    """What went wrong, where, what was received, and what to do next (RFC 9457)."""

    type: str = Field(examples=["urn:heelstamp:problem:conflict"])
    title: str
    status: int
    detail: str
    where: str = ""
    received: str = ""
    remedy: str = ""


def problem(error: HeelstampError, status: int) -> JSONResponse:
    """Write an error as a problem document."""
    told = Problem(
        type=f"urn:heelstamp:problem:{KINDS.get(status, 'fault')}",
        title=error.what,
        status=status,
        detail=str(error),
        where=error.where,
        received=error.received[:200],
        remedy=error.remedy,
    )
    return JSONResponse(told.model_dump(), status, media_type=PROBLEM)
