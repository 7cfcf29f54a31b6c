"""``work-plan``: what could be done to it, what each act costs, ends and may change; signing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated
from uuid import uuid4

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say

if TYPE_CHECKING:
    from heelstamp.casework.work_plan.describe import PlanTold


def work_plan(
    tag: Annotated[str, typer.Argument(help="Tag of a dossier.")],
    sign: Annotated[
        str, typer.Option("--sign", help="Enter the signed plan: keys with commas, or nothing.")
    ] = "",
    signed_by: Annotated[str, typer.Option("--signed-by", help="Who signed, by role.")] = "owner",
    day: Annotated[str, typer.Option("--day", help="Day of it, 2026-11-02; today without.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Weigh each act against its cost and harm; doing nothing is always one of them.

    A signed plan grants its acts and refuses the others that were weighed.

    Example: heelstamp work-plan H-0001 --sign control,strings --signed-by consignor
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.work_plan import plan_told, sign_plan

    with OpenShop(shop) as here:
        if sign:
            stamp = EntryStamp(f"plan-{uuid4().hex[:10]}", "", now())
            sign_plan(
                here, tag, stamp, chosen=sign, signed=day or now()[:10], by=signed_by, hand=by
            )
        told = plan_told(here, tag)
    if as_json:
        emit(told.data())
    else:
        _show(told)
    return Exit.DONE


def _show(told: PlanTold) -> None:
    say(told.advice.text)
    bullet(told.strings.text)
    for one in told.acts:
        heading(f"{one.label.capitalize()} ({one.weighed.key})")
        for said in one.sentences:
            bullet(said.text)
        for act, standing in one.weighed.consent.items():
            bullet(f"Consent to {act}: {standing}.")
        for caution in one.cautions:
            bullet(f"Caution: {caution}")
    if told.signed is not None:
        acts = ", ".join(one.act for one in told.signed.acts) or "nothing is to be done"
        heading("Signed")
        bullet(f"{told.signed.signed}, by {told.signed.by}: {acts}.")
