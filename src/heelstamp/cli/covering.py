"""``cover``: what lies where tonight, against the limit of its cover."""

from __future__ import annotations

from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say, table

cover_app = typer.Typer(
    name="cover", no_args_is_help=True, help="What lies where each night, and is it covered?"
)


@cover_app.command("show")
def show(
    night: Annotated[str, typer.Option("--night", help="Day, 2026-11-02; today without.")] = "",
    count: Annotated[int, typer.Option("--nights", min=1, max=400, help="How many nights.")] = 1,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Add up what lies at each place against its limit; exit 1 when there is an alarm.

    Example: heelstamp cover show --nights 7 --shop demo-shop
    """
    import msgspec

    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.premises import nights
    from heelstamp.shop.sale import day_of

    last = day_of(night or now()[:10], "--night").isoformat()
    with OpenShop(shop) as here:
        found = nights(here, last, count)
    alarms = found[0].alarms
    if as_json:
        emit(msgspec.to_builtins(found, enc_hook=str))
        return Exit.FINDINGS if alarms else Exit.DONE
    rows = [
        (one.night, place.place, str(place.sum), str(place.limit or "none"), ", ".join(place.tags))
        for one in found
        for place in one.places
    ]
    table(rows, ("night", "place", "lies there", "limit", "what"))
    for told in alarms:
        bullet(told)
    return Exit.FINDINGS if alarms else Exit.DONE


@cover_app.command("set")
def set_(
    place: Annotated[str, typer.Argument(help="A word in the place; elsewhere for the rest.")],
    limit: Annotated[str, typer.Argument(help="The most that is paid; 0 takes the row away.")],
    until: Annotated[str, typer.Option(help="Last day of the cover.")] = "",
    shop: Shop = HERE,
) -> int:
    """Declare the cover of a place.

    Example: heelstamp cover set store "50,000" --until 2027-01-31 --shop demo-shop
    """
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.premises import cover_of, keep_cover

    name = "" if place == "elsewhere" else place
    with OpenShop(shop) as here:
        rows = [(one.name, one.limit, one.until) for one in cover_of(here).place]
        others = [one for one in rows if one[0].casefold() != name.casefold()]
        kept = [] if limit.strip() == "0" else [(name, limit, until)]
        keep_cover(here, [*others, *kept])
    say(f"The cover of {place} is kept.")
    return Exit.DONE
