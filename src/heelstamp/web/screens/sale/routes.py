"""Sale: how far it has come, what stands against the next step, and where the money is."""

from __future__ import annotations

from typing import Annotated, get_args

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.sale.blocks import PASSABLE
from heelstamp.casework.sale.gate import OWNERS_STEPS
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import role_of
from heelstamp.catalogue import TaxScheme
from heelstamp.catalogue.bodies.sale import Means
from heelstamp.errors import HeelstampError
from heelstamp.shop import now
from heelstamp.shop.sale import sale_view, take_step
from heelstamp.shop.selling_time import selling_time
from heelstamp.shop.tax import declare_scheme, tax_of
from heelstamp.shop.title_file import keep_owner, keep_search
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.sale.forms import Owner, Search, Step, Tax
from heelstamp.wording.about_tax import advice

router = APIRouter()
SCREEN = "sale"
Price = Annotated[str, Query(max_length=40)]


@router.get("/dossier/{tag}/sale", response_class=HTMLResponse)
def sale(here: AtBench, time: bool = False, price: Price = "") -> HTMLResponse:
    """Show where the sale stands and what may follow; when it may come, where that is asked."""
    today = now()[:10]
    foreseen, refused = None, None
    if time:
        try:
            foreseen = selling_time(here.shop, here.tag, today, price)
        except HeelstampError as error:
            refused = error
    return here.page(
        "sale/sale.html",
        SCREEN,
        view=sale_view(here.shop, here.tag, today),
        today=today,
        currency=here.shop.currency,
        means=get_args(Means),
        passable=PASSABLE,
        owns=role_of(here.hand).may(Role.OWNER),
        owners_steps=OWNERS_STEPS,
        tax=tax_of(here.shop, here.tag),
        declared=here.state.last(TaxScheme),
        tax_advice=advice.say(),
        foreseen=foreseen,
        no_time=refused,
        price=price,
    )


@router.post("/dossier/{tag}/sale/step")
def step(here: AtBench, told: Annotated[Step, Form()]) -> Response:
    """Enter a step."""
    fields = told.fields("event")
    take_step(here.shop, here.tag, told.stamp("v"), told.event, fields, by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/sale/owner")
def owner(here: AtBench, told: Annotated[Owner, Form()]) -> Response:
    """Enter an owner, or their signature."""
    keep_owner(here.shop, here.tag, told.stamp("w"), told.fields(), by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/sale/search")
def search(here: AtBench, told: Annotated[Search, Form()]) -> Response:
    """Enter a search of a list."""
    fields = {**told.fields("register_"), "register": told.register_}
    keep_search(here.shop, here.tag, told.stamp("t"), fields, by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/sale/tax")
def tax(here: AtBench, told: Annotated[Tax, Form()]) -> Response:
    """Declare the scheme under which the sale is taxed."""
    declare_scheme(here.shop, here.tag, told.stamp("x"), told.fields(), by=here.hand)
    return here.back(SCREEN)
