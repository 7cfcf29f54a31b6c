"""``sale``: where a sale stands, its next step, its owners, and where the money is."""

from __future__ import annotations

from typing import Annotated
from uuid import uuid4

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say, table

sale_app = typer.Typer(
    name="sale", no_args_is_help=True, help="From cleared to the last payout, one step at a time."
)
Tag = Annotated[str, typer.Argument(help="Tag of a dossier.")]
Day = Annotated[str, typer.Option("--day", help="Day of it, 2026-11-02; today without.")]
Stamp = Annotated[str, typer.Option("--id", help="Id of the entry; made anew without.")]


@sale_app.command("show")
def show(tag: Tag, day: Day = "", shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Tell where a sale stands, what may follow, and what stands against it.

    Example: heelstamp sale show H-0001 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.sale import sale_view

    with OpenShop(shop) as here:
        view = sale_view(here, tag, day or now()[:10])
    if as_json:
        emit(msgspec.to_builtins(view))
        return Exit.DONE
    standing = view.standing
    since = f", since {standing.since}" if standing.since else ""
    say(f"The sale of {tag} is {standing.state}{since}.")
    for told in view.overridden:
        bullet(told)
    for hold in standing.queue:
        bullet(f"{hold.party} holds it until {hold.until} ({hold.id})")
    for paid in standing.payments:
        funds = f"cleared {paid.cleared}" if paid.cleared else "not cleared"
        bullet(f"{paid.of} {paid.sum} {standing.currency} by {paid.means} on {paid.day}: {funds}")
    heading("What may follow")
    for one in view.possible:
        bullet(one.event + (f" ({', '.join(one.fields)})" if one.fields else ""))
        for block in one.blocks:
            say(f"blocked: {block.told}", indent="      ")
    return Exit.DONE


@sale_app.command("step")
def step(
    tag: Tag,
    event: Annotated[str, typer.Argument(help="The step, as sale show names it.")],
    day: Day = "",
    party: Annotated[str, typer.Option(help="Buyer, or who holds, by role.")] = "",
    amount: Annotated[str, typer.Option(help="A sum in the shop's currency.")] = "",
    of: Annotated[str, typer.Option("--of", help="deposit or balance.")] = "",
    means: Annotated[str, typer.Option(help="cash, transfer, card, cheque or escrow.")] = "",
    until: Annotated[str, typer.Option(help="Last day of a hold or window.")] = "",
    names: Annotated[str, typer.Option(help="Id of the hold or payment it is about.")] = "",
    lets: Annotated[str, typer.Option(help="Step that an override lets pass.")] = "",
    note: Annotated[str, typer.Option(help="Why; of an override.")] = "",
    id_: Stamp = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Enter the next step of a sale.

    Example: heelstamp sale step H-0001 held --party "buyer B" --until 2026-12-08 --shop demo-shop
    """
    import msgspec

    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.sale import sale_view, take_step

    told = {
        "day": day,
        "party": party,
        "amount": amount,
        "of": of,
        "means": means,
        "until": until,
        "names": names,
        "lets": lets,
        "note": note,
    }
    with OpenShop(shop) as here:
        stamp = EntryStamp(id_ or f"sale-{uuid4().hex[:10]}", "", now())
        take_step(here, tag, stamp, event, told, by=by)
        view = sale_view(here, tag, day or now()[:10])
    if as_json:
        emit({"id": stamp.id, "standing": msgspec.to_builtins(view.standing)})
    else:
        say(f"The sale of {tag} is {view.standing.state}.")
    return Exit.DONE


@sale_app.command("owner")
def owner(
    tag: Tag,
    role: Annotated[str, typer.Option(help="Who they are to it, as heir B; never a name.")],
    identity: Annotated[str, typer.Option(help="Kind of paper that was seen.")] = "",
    ending: Annotated[str, typer.Option(help="Its last characters, four at most.")] = "",
    acquired: Annotated[str, typer.Option(help="How they say they came by it.")] = "",
    liens: Annotated[str, typer.Option(help="What they answered when asked for liens.")] = "",
    signed: Annotated[str, typer.Option(help="Day on which they signed.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Enter an owner, how their identity was seen (never a copy), and their signature.

    Example: heelstamp sale owner H-0001 --role "heir B" --signed 2026-11-02 --shop demo-shop
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.sale import keep_owner

    told = {
        "role": role,
        "identity": identity,
        "ending": ending,
        "acquired": acquired,
        "liens": liens,
        "signed": signed,
    }
    with OpenShop(shop) as here:
        stamp = EntryStamp(f"owner-{uuid4().hex[:10]}", "", now())
        keep_owner(here, tag, stamp, told, by=by)
    say(f"Entered: {role}, " + (f"signed {signed}." if signed else "not signed yet."))
    return Exit.DONE


@sale_app.command("account")
def account(
    first: Annotated[str, typer.Option("--from", help="First day, 2026-01-01.")] = "",
    last: Annotated[str, typer.Option("--to", help="Last day.")] = "9999-12-31",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Add up the money of all sales over a period: in, out, earned, and what is held for others.

    Example: heelstamp sale account --from 2026-01-01 --to 2026-12-31 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.sale import shop_accounts

    with OpenShop(shop) as here:
        found = shop_accounts(here, first, last)
    if as_json:
        emit(msgspec.to_builtins(found))
        return Exit.DONE
    if not found:
        say("No money of a sale was entered.")
    for one in found:
        heading(f"In {one.currency}")
        table(one.lines, ("day", "dossier", "what", "side", "sum"))
        rows = [
            ("held when it began", one.before),
            ("received", one.received),
            ("refunded", one.refunded),
            ("paid out", one.paid_out),
            ("earned", one.earned),
            ("held for others at the end", one.held),
        ]
        table(rows, ("account", "sum"))
    return Exit.DONE
