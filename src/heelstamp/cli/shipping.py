"""``shipping``: how an instrument travels, and when its parcel may be opened."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal
from uuid import uuid4

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say

shipping_app = typer.Typer(
    name="shipping", no_args_is_help=True, help="How it travels, and when it may be opened."
)
Tag = Annotated[str, typer.Argument(help="Tag of a dossier.")]


@shipping_app.command("show")
def show(
    tag: Tag,
    to: Annotated[str, typer.Option("--to", help="Country by its code, or EU.")] = "",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell what is known of the way, what it lacks, and what to ask about a route.

    Example: heelstamp shipping show H-0001 --to JP --shop demo-shop
    """
    import msgspec

    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.shipping import shipping_view

    with OpenShop(shop) as here:
        view = shipping_view(here, tag, to=to)
    if as_json:
        emit(msgspec.to_builtins(view, enc_hook=str))
        return Exit.DONE
    if view.route:
        heading(f"To {view.route}")
        for one in view.prompts:
            bullet(one)
    for packed in view.packed:
        heading(f"Packed {packed.packing.day}, to {packed.packing.route}")
        for one in packed.told:
            bullet(one)
    for log in view.logs:
        heading(log.log.name)
        for one in log.journey.sentences if log.journey else (str(log.refused),):
            bullet(one)
    return Exit.DONE


@shipping_app.command("pack")
def pack(
    tag: Tag,
    to: Annotated[str, typer.Option("--to", help="Country by its code, or EU.")],
    weight: Annotated[str, typer.Option(help="Of the parcel, g.")],
    size: Annotated[str, typer.Option(help="Length × width × height, mm: 1200x450x180.")],
    tuned_down: Annotated[int, typer.Option(min=0, max=12, help="Semitones let down.")] = 0,
    seal: Annotated[str, typer.Option(help="What closes it, and its mark.")] = "",
    frame: Annotated[list[str] | None, typer.Option(help="Photograph of it packed.")] = None,
    logger: Annotated[bool, typer.Option("--logger", help="A logger travels inside.")] = False,
    value: Annotated[str, typer.Option(help="Value that travels.")] = "",
    cover: Annotated[str, typer.Option(help="Sum it is covered for on the way.")] = "",
    limit: Annotated[str, typer.Option(help="The most that the carrier covers.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
) -> int:
    """Enter how an instrument was packed.

    Example: heelstamp shipping pack H-0001 --to US --weight 6200 --size 1200x450x180 --tuned-down 2
    """
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.errors import InputError
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.shipping import enter_packing, shipping_view

    sides = size.lower().replace("×", "x").split("x")
    if len(sides) != 3:
        raise InputError(
            "not three sides", where="--size", received=size, remedy="Write 1200x450x180."
        )
    told = {
        "route": to,
        "weight_g": weight,
        "length_mm": sides[0],
        "width_mm": sides[1],
        "height_mm": sides[2],
        "tuned_down": str(tuned_down),
        "seal": seal,
        "frames": frame or [],
        "logger": logger,
        "value": value,
        "cover": cover,
        "limit": limit,
    }
    with OpenShop(shop) as here:
        stamp = EntryStamp(f"packing-{uuid4().hex[:10]}", "", now())
        enter_packing(here, tag, stamp, told, by=by)
        view = shipping_view(here, tag)
    for one in (*view.packed[0].told, *view.prompts):
        bullet(one)
    return Exit.DONE


@shipping_app.command("log")
def log(
    file: Annotated[Path, typer.Argument(help="The logger's table, CSV or XLSX.")],
    room: Annotated[float, typer.Option(help="The room, °C.")],
    humidity: Annotated[float, typer.Option(help="The room, % relative humidity.")],
    dates: Annotated[
        Literal["", "dmy", "mdy"], typer.Option(help="Order of day and month, where both may be.")
    ] = "",
    tag: Annotated[str, typer.Option("--of", help="Keep it in this dossier.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Read a logger's file and tell when the parcel may be opened; exit 1 while it stays closed.

    Example: heelstamp shipping log journey.csv --room 21 --humidity 45
    """
    import msgspec

    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.catalogue import TransitLog
    from heelstamp.shop import now
    from heelstamp.shop.files import read_file
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.shipping import enter_log, read_journey

    data = read_file(file)
    if tag:
        with OpenShop(shop) as here:
            stamp = EntryStamp(f"log-{uuid4().hex[:10]}", "", now())
            told = {"room_c": room, "room_rh": humidity}
            found = enter_log(here, tag, stamp, data, file.name, order=dates, by=by, **told)
    else:
        kept = TransitLog(id="log", file="0" * 64, name=file.name, room_c=room, room_rh=humidity)
        found = read_journey(data, kept, order=dates)
    if as_json:
        emit(msgspec.to_builtins(found, enc_hook=str))
    else:
        for one in found.sentences:
            say(one)
    return Exit.DONE if found.open_now else Exit.FINDINGS
