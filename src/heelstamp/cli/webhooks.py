"""``webhook``: which programs are told that a dossier grew."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import emit, say, table

if TYPE_CHECKING:
    from heelstamp.casework.sharing.webhooks import Webhook
    from heelstamp.shop.webhooks import Webhooks

webhook_app = typer.Typer(
    name="webhook",
    no_args_is_help=True,
    help="Which programs are told that a dossier grew; serve sends it.",
)
Id = Annotated[str, typer.Argument(metavar="WEBHOOK", help="As the list shows it.")]


@webhook_app.command("add")
def add(
    url: Annotated[str, typer.Argument(help="Its address, as https://books.example/hooks.")],
    uses: Annotated[str, typer.Option("--for", help="What receives it, as bookkeeping.")],
    private: Annotated[
        bool,
        typer.Option(
            "--private",
            help="It may be on a private network, or this machine; then also unencrypted.",
        ),
    ] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Make a webhook; the secret that its messages are signed with is printed once.

    Example: heelstamp webhook add https://books.example/hooks --for bookkeeping --shop shop
    """
    with _webhooks(shop) as hooks:
        made = hooks.add(uses, url, private=private)
    if as_json:
        emit({"webhook": made.id, "secret": made.secret})
    else:
        say(made.secret)
        say(
            f"Messages to {made.name} are signed with it (Standard Webhooks, HMAC-SHA256). Keep it "
            "where only that program reads it; it is not shown again."
        )
    return Exit.DONE


@webhook_app.command("list")
def list_webhooks(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """List the webhooks, and whether messages arrive; exit 1 where they do not.

    Example: heelstamp webhook list --shop shop
    """
    with _webhooks(shop) as hooks:
        found = hooks.all()
    if as_json:
        emit(
            [
                {
                    "webhook": one.id,
                    "for": one.name,
                    "address": one.url,
                    "private": one.private,
                    "waiting": one.waiting,
                    "tries": one.tries,
                    "stopped": one.stopped,
                    "error": one.error,
                }
                for one in found
            ]
        )
    elif found:
        rows = [(one.id, one.name, one.url, str(one.waiting), _standing(one)) for one in found]
        table(rows, ("webhook", "for", "address", "waiting", "how it goes"))
    else:
        say("There are none.")
    return Exit.FINDINGS if any(one.error for one in found) else Exit.DONE


@webhook_app.command("again")
def again(id_: Id, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Send anew to a webhook that failed or was stopped.

    Example: heelstamp webhook again 5f0c8a31b2d4 --shop shop
    """
    with _webhooks(shop) as hooks:
        one = hooks.again(id_)
    if as_json:
        emit({"webhook": one.id, "again": True})
    else:
        say(f"{one.name} is told again of what waits: {one.waiting}.")
    return Exit.DONE


@webhook_app.command("end")
def end(id_: Id, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Take a webhook out, with what still waits for it.

    Example: heelstamp webhook end 5f0c8a31b2d4 --shop shop
    """
    with _webhooks(shop) as hooks:
        gone = hooks.end(id_)
    if as_json:
        emit({"webhook": gone.id, "ended": True})
    else:
        say(f"{gone.name} is told nothing any more.")
    return Exit.DONE


def _standing(one: Webhook) -> str:
    if one.stopped:
        return f"stopped: {one.error}"
    return f"fails: {one.error}" if one.error else "arrives"


@contextmanager
def _webhooks(folder: Path) -> Iterator[Webhooks]:
    from heelstamp.shop.folder import open_shop
    from heelstamp.shop.webhooks import Webhooks

    open_shop(folder).close()  # a missing or damaged database is refused there, in its own words
    hooks = Webhooks(folder)
    try:
        yield hooks
    finally:
        hooks.close()
