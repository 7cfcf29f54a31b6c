"""The page for programs: what can be asked of the API, and by whom."""

from __future__ import annotations

from typing import NamedTuple

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from heelstamp.casework.sharing import Role
from heelstamp.web.gate import signed_in
from heelstamp.web.permits import ACTS, changes, least_role
from heelstamp.web.rendering import page
from heelstamp.web.screens.webhooks.routes import webhooks_of

router = APIRouter()


class Operation(NamedTuple):
    """One thing that can be asked."""

    method: str
    path: str
    told: str
    least: str
    changes: bool
    act: bool


@router.get("/api", response_class=HTMLResponse)
def programs(request: Request) -> HTMLResponse:
    """Show what can be asked, from the description that programs read."""
    told = request.app.openapi()
    found = [
        Operation(
            method.upper(),
            path,
            one["description"].split("\n\n")[0].replace("`", ""),
            "" if (least := least_role(path, method.upper())) is None else least.value,
            changes(path, method.upper()),
            path.startswith(f"{ACTS}/"),
        )
        for path, operations in told["paths"].items()
        for method, one in operations.items()
    ]
    owner = request.app.state.shared is None or signed_in(request).role is Role.OWNER
    failing = sum(bool(one.error) for one in webhooks_of(request).all()) if owner else 0
    return page(request, "programs/programs.html", operations=found, owner=owner, failing=failing)
