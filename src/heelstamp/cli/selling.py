"""``sale``: where a sale stands, its next step, its owners, and where the money is."""

from __future__ import annotations

from pathlib import Path
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
    from heelstamp.valuation.money import Money

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
        sum_ = Money.of(paid.sum, standing.currency)
        funds = f"cleared {paid.cleared}" if paid.cleared else "not cleared"
        bullet(f"{paid.of} {sum_} by {paid.means} on {paid.day}: {funds}")
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


@sale_app.command("tax")
def tax(
    tag: Tag,
    scheme: Annotated[str, typer.Option(help="commission, purchase or margin.")] = "",
    rate: Annotated[str, typer.Option(help="Rate of the tax, as 20 %.")] = "",
    bought: Annotated[str, typer.Option(help="What the shop paid for it.")] = "",
    reason: Annotated[str, typer.Option(help="Why this scheme.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Declare under which scheme a sale is taxed, or tell its row of the tax register.

    Example: heelstamp sale tax H-0001 --scheme margin --rate "20 %" --bought 1500
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.tax import declare_scheme, tax_of
    from heelstamp.wording.about_tax import advice

    with OpenShop(shop) as here:
        if scheme:
            told = {"scheme": scheme, "rate": rate, "bought": bought, "reason": reason}
            stamp = EntryStamp(f"tax-{uuid4().hex[:10]}", "", now())
            declare_scheme(here, tag, stamp, told, by=by)
        row = tax_of(here, tag)
    if row is None:
        say("It enters the register when the sale is final.")
    else:
        say(f"{row.day}, {row.scheme} {row.rate}: {row.price}, taxable {row.base}, tax {row.tax}.")
        if row.remark:
            say(row.remark)
    say(advice.say())
    return Exit.DONE


@sale_app.command("search")
def search(
    tag: Tag,
    register: Annotated[str, typer.Argument(help="The list that was searched.")],
    hit: Annotated[bool, typer.Option("--hit/--no-hit", help="Whether anything was found.")],
    query: Annotated[str, typer.Option(help="What was asked of it.")] = "",
    result: Annotated[str, typer.Option(help="What it answered; needed with a hit.")] = "",
    day: Day = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Enter a search of a list of stolen instruments; a hit stops the sale, exit 1.

    Example: heelstamp sale search H-0001 "the police list" --no-hit --query S10350
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.title_file import keep_search, title_file

    told = {
        "register": register,
        "query": query,
        "result": result,
        "day": day,
        "hit": "yes" if hit else "no",
    }
    with OpenShop(shop) as here:
        stamp = EntryStamp(f"search-{uuid4().hex[:10]}", "", now())
        keep_search(here, tag, stamp, told, by=by)
        hits = title_file(here, tag).hits
    for one in hits:
        say(one)
    if not hits:
        say("Entered. No hit shows only that none was found in that list on that day.")
    return Exit.FINDINGS if hits else Exit.DONE


@sale_app.command("owner")
def owner(
    tag: Tag,
    role: Annotated[str, typer.Option(help="Who they are to it, as heir B; never a name.")],
    identity: Annotated[str, typer.Option(help="Kind of paper that was seen.")] = "",
    ending: Annotated[str, typer.Option(help="Its last characters, four at most.")] = "",
    acquired: Annotated[str, typer.Option(help="How they say they came by it.")] = "",
    liens: Annotated[str, typer.Option(help="What they answered when asked for liens.")] = "",
    signed: Annotated[str, typer.Option(help="Day on which they signed, on paper.")] = "",
    name: Annotated[str, typer.Option(help="Their name; kept apart from the journal.")] = "",
    contact: Annotated[str, typer.Option(help="Their address; kept apart.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Enter an owner, how their identity was seen (never a copy), and their signature.

    Example: heelstamp sale owner H-0001 --role "heir B" --signed 2026-11-02 --shop demo-shop
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.title_file import keep_owner

    told = {
        "role": role,
        "name": name,
        "contact": contact,
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


@sale_app.command("time")
def time(
    tag: Tag,
    price: Annotated[str, typer.Option(help="Asking price that holds on; as agreed without.")] = "",
    day: Day = "",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell the chance of a sale by week 4, 13 and 26, learned from this shop's own offers.

    Example: heelstamp sale time H-0001 --price 9900 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.sale import day_of
    from heelstamp.shop.selling_time import selling_time

    today = day_of(day or now()[:10], "--day").isoformat()
    with OpenShop(shop) as here:
        found = selling_time(here, tag, today, price)
    if as_json:
        emit(msgspec.to_builtins(found))
        return Exit.DONE
    say(f"At {found.price}:")
    for one in found.sentences:
        bullet(one)
    return Exit.DONE


@sale_app.command("path")
def path(
    tag: Tag,
    choose: Annotated[
        bool, typer.Option("--choose", help="Write it as a new agreement, to be signed.")
    ] = False,
    terms: Annotated[
        str, typer.Option(help="With --choose: SHA-256 of the terms, as sale agreement tells it.")
    ] = "",
    day: Day = "",
    id_: Stamp = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell whether another path of asking prices would leave the consignor more on average.

    Exit 3 where none is worth a choice.

    Example: heelstamp sale path H-0001 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.price_path import better_path, choose_path
    from heelstamp.shop.sale import day_of
    from heelstamp.shop.terms import terms_here

    today = day_of(day or now()[:10], "--day").isoformat()
    with OpenShop(shop) as here:
        found = better_path(here, tag, today)
        if choose:
            stamp = id_ or f"terms-{uuid4().hex[:10]}"
            choose_path(here, tag, today, base=terms, id_=stamp, by=by)
        digest = terms_here(here, tag).digest
    if as_json:
        emit({**msgspec.to_builtins(found), "terms": digest})
    else:
        for one in found.sentences:
            bullet(one)
        if choose:
            say(f"Written as new terms, which nobody has signed: {digest}")
    return Exit.DONE if found.offered else Exit.UNDECIDED


@sale_app.command("agreement")
def agreement(
    tag: Tag,
    price: Annotated[
        list[str] | None, typer.Option("--price", help="Tell the net at this price (repeatable).")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell what the terms that hold leave the consignor at three prices, and who signed them.

    Example: heelstamp sale agreement H-0001 --price 9100 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop.agreement import agreement_view
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        view = agreement_view(here, tag, prices=price or ())
    if view.refused is not None:
        raise view.refused
    signed = view.signatures.signed
    if as_json:
        emit(
            {
                "terms": view.held.digest,
                "whose": view.held.whose,
                "prices": view.prices,
                "lines": view.rows,
                "signed": msgspec.to_builtins(signed),
                "earlier": msgspec.to_builtins(view.signatures.earlier),
            }
        )
        return Exit.DONE if signed else Exit.UNDECIDED
    if not view.held.digest:
        say("No terms of consignment hold for it.")
        return Exit.UNDECIDED
    table(view.rows, ("", *view.prices))
    say(f"SHA-256 of the terms: {view.held.digest}")
    for one in signed:
        bullet(f"signed by {one.role} on {one.day}, {one.how}")
    if not signed:
        say("Nobody signed the terms that hold.")
    return Exit.DONE if signed else Exit.UNDECIDED


@sale_app.command("sign")
def sign(
    tag: Tag,
    role: Annotated[str, typer.Option(help="Who signed, as a consignor; never a name.")],
    terms: Annotated[str, typer.Option(help="SHA-256 of the terms, as sale agreement tells it.")],
    day: Day = "",
    picture: Annotated[
        Path | None, typer.Option(help="A photograph of the signed paper, if there is one.")
    ] = None,
    id_: Stamp = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Enter that the terms that hold were signed on paper.

    Example: heelstamp sale sign H-0001 --role "a consignor" --terms SHA256 --day 2026-11-02
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.agreement import sign as sign_terms
    from heelstamp.shop.files import read_file
    from heelstamp.shop.opened import OpenShop

    shown = None if picture is None else (read_file(picture), picture.name)
    with OpenShop(shop) as here:
        stamp = EntryStamp(id_ or f"agreement-{uuid4().hex[:10]}", "", now())
        sign_terms(here, tag, stamp, role=role, day=day, base=terms, picture=shown, by=by)
    say(f"Entered: {role} signed the terms {terms[:12]}….")
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
