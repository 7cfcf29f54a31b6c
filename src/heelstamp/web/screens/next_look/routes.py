"""Next look: the next layer, with its gain, its risk and the owner's word; or stop, and why."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from heelstamp.casework.inspections import Option, Plan
from heelstamp.casework.inspections.ordering import ORDERS, Order, ordered
from heelstamp.shop import planning
from heelstamp.web.at_bench import AtBench
from heelstamp.web.rendering import sees_sums

router = APIRouter()


@router.get("/dossier/{tag}/next-look", response_class=HTMLResponse)
def next_look(here: AtBench, order: Order = "evidence", *, whole: bool = False) -> HTMLResponse:
    """Show the front of inspections; it takes a second to work out, so the page comes before it."""
    ready = whole or planning.next_look_ready(here.shop, here.tag)
    plan = planning.next_look(here.shop, here.tag) if ready else None
    money = sees_sums(here.request)
    by = order if money else "evidence"
    return here.page(
        "next_look/next_look.html",
        "next-look",
        plan=plan,
        options=() if plan is None else _options(plan, by),
        order=by,
        orders=ORDERS if money and plan and _priced(plan) else (),
        currency=here.shop.currency,
    )


def _priced(plan: Plan) -> bool:
    return bool(plan.options) and all(one.gain.money is not None for one in plan.options)


def _options(plan: Plan, by: str) -> list[Option]:
    return ordered(plan, by if _priced(plan) else "evidence")
