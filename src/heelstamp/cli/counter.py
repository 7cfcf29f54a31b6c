"""``enquiry`` and ``persons``: what is said at the counter, and the names kept apart from it."""

from __future__ import annotations

from typing import Annotated
from uuid import uuid4

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say, table

enquiry_app = typer.Typer(
    name="enquiry", no_args_is_help=True, help="Who asks about an instrument, and what was said."
)
persons_app = typer.Typer(
    name="persons", no_args_is_help=True, help="Names that are kept, and until when."
)
Tag = Annotated[str, typer.Argument(help="Tag of a dossier.")]
Day = Annotated[str, typer.Option("--day", help="Day of it, 2026-11-02; today without.")]


@enquiry_app.command("show")
def show(tag: Tag, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Tell who asks, what is to be answered, who waits and what was said of price.

    Example: heelstamp enquiry show H-0001 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop.enquiries import enquiry_view
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        view = enquiry_view(here, tag)
    if as_json:
        emit(msgspec.to_builtins(view))
        return Exit.DONE
    for place, one in enumerate(view.queue, start=1):
        say(f"{place}. {one.party} waits since {one.waits}.")
    for one in (*view.going_on, *view.ended):
        heading(f"{one.party}, {one.since} to {one.last}")
        for _, day, words in one.open:
            bullet(f"to answer since {day}: {words}")
        for asked, told in one.told:
            bullet(f"{asked} Told: {told}")
        for price in one.prices:
            bullet(f"{price.day}: {price.said_by} said {price.sum}")
        if one.viewing:
            bullet(f"comes to see it on {one.viewing}")
        for seen in one.viewed:
            bullet(
                f"saw it on {seen.day}: photographs before: {', '.join(seen.before) or 'none'}; "
                f"after: {', '.join(seen.after) or 'none'}"
            )
        if one.ended:
            bullet(f"ended {one.ended}: {one.why}")
    return Exit.DONE


@enquiry_app.command("add")
def add(
    tag: Tag,
    event: Annotated[
        str,
        typer.Argument(help="asked, answered, price said, waits, viewing set, viewed or ended."),
    ],
    party: Annotated[
        str, typer.Option(help="Who, by role: enquirer 3; the next one without.")
    ] = "",
    day: Day = "",
    text: Annotated[str, typer.Option(help="What was asked or answered.")] = "",
    amount: Annotated[str, typer.Option(help="A sum in the shop's currency.")] = "",
    said_by: Annotated[str, typer.Option(help="the shop, or the enquirer.")] = "",
    on: Annotated[str, typer.Option(help="Day of a viewing.")] = "",
    before: Annotated[list[str] | None, typer.Option(help="Frame taken before.")] = None,
    after: Annotated[list[str] | None, typer.Option(help="Frame taken after.")] = None,
    note: Annotated[str, typer.Option(help="Why it ended; what was noticed.")] = "",
    name: Annotated[str, typer.Option(help="Their name; kept apart from the journal.")] = "",
    contact: Annotated[str, typer.Option(help="Address to answer to; kept apart.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Enter one thing of a talk with somebody who may buy.

    Example: heelstamp enquiry add H-0001 asked --text "Has the neck been off?" --shop demo-shop
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.enquiries import enquiry_view, enter_enquiry
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        who = party or enquiry_view(here, tag).next_role
        told = {
            "party": who,
            "event": event,
            "day": day,
            "text": text,
            "amount": amount,
            "said_by": said_by,
            "on": on,
            "before": before or [],
            "after": after or [],
            "note": note,
            "name": name,
            "contact": contact,
        }
        stamp = EntryStamp(f"enquiry-{uuid4().hex[:10]}", "", now())
        enter_enquiry(here, tag, stamp, told, by=by)
    say(f"Entered of {who}.")
    return Exit.DONE


@enquiry_app.command("answer")
def answer(
    tag: Tag,
    party: Annotated[str, typer.Option(help="Who asked, by role.")],
    tell: Annotated[bool, typer.Option("--tell", help="Enter that they were told so.")] = False,
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Answer the oldest open question of an enquirer from the findings; exit 3 if not examined.

    Example: heelstamp enquiry answer H-0001 --party "enquirer 1" --tell --shop demo-shop
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.errors import InputError
    from heelstamp.shop import now
    from heelstamp.shop.enquiries import answer_enquiry, enquiry_view, given_to
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording.about_enquiries import not_examined

    with OpenShop(shop) as here:
        found = [one for one in enquiry_view(here, tag).going_on if one.party == party]
        if not found or not found[0].open:
            raise InputError("nothing is asked and open", where=tag, received=party)
        given = given_to(here, tag, found[0].open[0][2])
        if tell:
            stamp = EntryStamp(f"enquiry-{uuid4().hex[:10]}", "", now())
            answer_enquiry(here, tag, stamp, party, by=by)
    if not given.examined:
        say(not_examined.say())
        return Exit.UNDECIDED
    for line in given.lines:
        bullet(line.text)
    return Exit.DONE


@persons_app.command("list")
def listed(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """List the names that are kept, why and until when; exit 1 when the time of one is over.

    Example: heelstamp persons list --shop demo-shop
    """
    import msgspec

    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.persons import persons_kept

    with OpenShop(shop) as here:
        found = persons_kept(here)
    today = now()[:10]
    over = any(
        not one.person.erased and one.erase_on is not None and one.erase_on.isoformat() <= today
        for one in found
    )
    if as_json:
        emit(msgspec.to_builtins(found))
    else:
        rows = [
            (
                one.person.id,
                one.person.tag,
                one.person.role,
                one.person.name or f"erased {one.person.erased}",
                str(one.erase_on or ""),
                one.why,
            )
            for one in found
        ]
        table(rows, ("id", "of", "role", "name", "erase on", "why"))
    return Exit.FINDINGS if over else Exit.DONE


@persons_app.command("keep")
def keep(
    tag: Tag,
    role: Annotated[str, typer.Option(help="As the journal names them: buyer B.")],
    name: Annotated[str, typer.Option(help="Their name.")],
    purpose: Annotated[str, typer.Option(help="enquirer, buyer or owner.")],
    contact: Annotated[str, typer.Option(help="Their address.")] = "",
    shop: Shop = HERE,
) -> int:
    """Keep the name behind a role, apart from the journal.

    Example: heelstamp persons keep H-0001 --role "buyer B" --name "..." --purpose buyer
    """
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.persons import keep_person

    with OpenShop(shop) as here:
        made = keep_person(
            here, tag, role=role, name=name, contact=contact, purpose=purpose, day=now()[:10]
        )
    say(made.id)
    return Exit.DONE


@persons_app.command("erase")
def erase(
    person: Annotated[str, typer.Argument(help="Id, as persons list tells it.")],
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Erase a name and its address; the role stays in the journal.

    Example: heelstamp persons erase person-0a1b2c3d4e --shop demo-shop
    """
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.persons import erase_person
    from heelstamp.wording.about_persons import erased, in_backups

    with OpenShop(shop) as here:
        gone = erase_person(here, person, day=now()[:10], by=by)
    say(erased.say(role=gone.role, day=gone.erased))
    say(in_backups.say())
    return Exit.DONE


@persons_app.command("retention")
def retention(
    purpose: Annotated[
        str, typer.Option(help="Set the rule of this purpose: enquirer, buyer or owner.")
    ] = "",
    days: Annotated[str, typer.Option(help="Days; blank for common practice.")] = "",
    why: Annotated[str, typer.Option(help="Why so long.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell how long names are kept and why, or set it for one purpose.

    Example: heelstamp persons retention --purpose enquirer --days 90 --why "to answer them"
    """
    import msgspec

    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.persons import keep_retention, retention_of

    with OpenShop(shop) as here:
        if purpose:
            keep_retention(here, {purpose: (days, why)}, by=by)
        found = retention_of(here)
    if as_json:
        emit(msgspec.to_builtins(found))
        return Exit.DONE
    table([(name, str(one.days), one.why) for name, one in found.items()], ("of", "days", "why"))
    return Exit.DONE
