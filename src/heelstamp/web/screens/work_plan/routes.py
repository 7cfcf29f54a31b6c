"""Work plan: what should be done to it, what it costs, and what it may change of the price."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.cautions import FIRST
from heelstamp.shop import now
from heelstamp.shop.work_plan import plan_told, sign_plan
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.work_plan.forms import Signed

router = APIRouter()
SCREEN = "work-plan"


@router.get("/dossier/{tag}/work-plan", response_class=HTMLResponse)
def work_plan(here: AtBench) -> HTMLResponse:
    """Show each act with its cost, harm and what it may change of the price."""
    return here.page(
        "work_plan/work_plan.html",
        SCREEN,
        told=plan_told(here.shop, here.tag),
        today=now()[:10],
        first_caution=FIRST,
    )


@router.post("/dossier/{tag}/work-plan")
def signed(here: AtBench, told: Annotated[Signed, Form()]) -> Response:
    """Enter the plan that the owner signed."""
    sign_plan(
        here.shop,
        here.tag,
        told.stamp("plan"),
        chosen=",".join(told.act) or "nothing",
        signed=told.signed or now()[:10],
        by=told.by,
        hand=here.hand,
    )
    return here.back(SCREEN)
