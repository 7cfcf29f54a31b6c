"""``triage``: what an owner sends and tells before the instrument comes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.first_call.record import FirstCall
    from heelstamp.shop.first_call_weighing import CallWeighed
    from heelstamp.shop.opened import OpenShop

CALL = "call-"


def triage(
    source: Annotated[
        str, typer.Argument(help="Folder of pictures, mail as .eml, or a call as call-0001.")
    ],
    chronology: Annotated[str, typer.Option("--as", help="Chronology to ask, by its id.")] = "",
    call: Annotated[str, typer.Option("--call", help="Keep it with this call of the shop.")] = "",
    keep: Annotated[bool, typer.Option("--keep", help="Keep it as a new call.")] = False,
    about: Annotated[str, typer.Option("--about", help="Your own words for a new call.")] = "",
    came_in: Annotated[
        str, typer.Option("--came-in", help="The instrument has come in: open this tag.")
    ] = "",
    message: Annotated[
        bool, typer.Option("--message", help="Print the message to the owner, and nothing else.")
    ] = False,
    narrow: Annotated[
        bool, typer.Option("--narrow", help="Say what would narrow the ranges; takes seconds.")
    ] = False,
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Say which of ten frames can be used, what is missing, and what words alone come to.

    Pictures are measured, never recognised: their names say what they show (head-front.jpg), or a
    line of the reply does (IMG_0031.jpg: head-front). Exit 0: all ten can be used; 1: some are
    wanted; 3: nothing was sent.

    Example: heelstamp triage reply.eml --as sallowby-wherry
    """
    from heelstamp.shop import is_shop
    from heelstamp.shop.opened import OpenShop

    inside = bool(call or keep or came_in or source.startswith(CALL))
    if not inside and not is_shop(shop):
        return _told(None, *_read(None, source, chronology), message, narrow, as_json)
    with OpenShop(shop) as here:
        found, faults = (
            _kept(here, source, call, chronology, about=about, by=by)
            if inside
            else _read(here, source, chronology)
        )
        if came_in:
            found = _arrived(here, found.id, came_in, by)
        return _told(here, found, faults, message, narrow, as_json)


def _read(shop: OpenShop | None, source: str, chronology: str) -> tuple[FirstCall, tuple[str, ...]]:
    """Read a source that is kept nowhere."""
    from heelstamp.casework.first_call.record import FirstCall
    from heelstamp.shop import now
    from heelstamp.shop.first_call_reading import looked_at, read_source

    call = FirstCall(id="call-0000", made=now(), by="", chronology=chronology)
    return looked_at(shop, call, read_source(Path(source)), now())


def _kept(
    shop: OpenShop, source: str, id_: str, chronology: str, *, about: str, by: str
) -> tuple[FirstCall, tuple[str, ...]]:
    """Read a source into a call of the shop, or look at one that is there."""
    from heelstamp.shop import now
    from heelstamp.shop.first_call import ask_chronology, begin_call, call_at
    from heelstamp.shop.first_call_reading import read_source, taken_in

    if source.startswith(CALL) and not Path(source).exists():
        if chronology:
            ask_chronology(shop, source, chronology)
        return call_at(shop, source), ()
    brought = read_source(Path(source))
    found = (
        call_at(shop, id_)
        if id_
        else begin_call(
            shop, about=about or Path(source).name, chronology=chronology, by=by, at=now()
        )
    )
    if id_ and chronology:
        found = ask_chronology(shop, id_, chronology)
    faults = taken_in(shop, found, brought, now())
    return call_at(shop, found.id), faults


def _arrived(shop: OpenShop, id_: str, tag: str, by: str) -> FirstCall:
    from heelstamp.shop import now
    from heelstamp.shop.first_call import arrive

    return arrive(shop, id_, tag=tag, by=by, at=now())


def _told(
    shop: OpenShop | None,
    call: FirstCall,
    faults: tuple[str, ...],
    message: bool,
    narrow: bool,
    as_json: bool,
) -> int:
    from heelstamp.shop import now
    from heelstamp.shop.first_call_weighing import message_of, narrowing, weigh_call

    weighed = weigh_call(shop, call, now())
    narrows = narrowing(shop, call) if narrow else []
    if message:
        say_plain(message_of(weighed))
    elif as_json:
        told = weighed.told.data()
        emit({**told, "age": weighed.age, "narrows": narrows, "not_read": list(faults)})
    else:
        _print(weighed, faults, narrows)
    if not call.sent and not call.answers:
        return Exit.UNDECIDED
    return Exit.DONE if weighed.told.usable == len(weighed.told.frames) else Exit.FINDINGS


def say_plain(text: str) -> None:
    """Print a text as it is, line by line."""
    for line in text.splitlines():
        say(line)


def _print(weighed: CallWeighed, faults: tuple[str, ...], narrows: list[str]) -> None:
    told = weighed.told
    if told.call.dossier:
        say(f"It came in as {told.call.dossier}.")
    for sentence in told.sentences:
        say(sentence)
    if weighed.age:
        say(weighed.age)
    heading("Frames")
    rows = []
    for one in told.frames:
        best = one.best
        if best is None:
            rows.append((one.asked.slot, "not sent", one.asked.label))
            continue
        judged = "; ".join(f"{each.of}: {each.measure}" for each in best.usable.judged)
        again = " ".join(best.usable.remedies)
        rows.append(
            (one.asked.slot, "can be used" if one.done else "take again", f"{again} {judged}")
        )
    table([(a, b, c.strip()) for a, b, c in rows], ("frame", "", "measured"))
    for title, lines in (("What would narrow it, nothing opened", narrows), ("Not read", faults)):
        if lines:
            heading(title)
            for line in lines:
                bullet(line)
    if told.call.id != "call-0000":
        say()
        say(f"Kept as {told.call.id}.")
