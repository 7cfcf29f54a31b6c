"""``account``: who may sign in when the shop is shared on its network."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import emit, say, table
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.shop.sharing import Sharing

account_app = typer.Typer(
    name="account", no_args_is_help=True, help="Who may sign in when the shop is shared."
)
token_app = typer.Typer(
    name="token", no_args_is_help=True, help="What other programs come in by, to the JSON API."
)
account_app.add_typer(token_app)
Name = Annotated[str, typer.Argument(help="Role that signs, as 'examiner A'.")]
LINE_MOST = 1000


@account_app.command("add")
def add(
    name: Name,
    role: Annotated[str, typer.Option(help="owner, examiner or reader.")] = "examiner",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Add an account; its password is asked for, or read from standard input.

    Example: heelstamp account add "examiner A" --role owner --shop shop
    """
    with _sharing(shop) as sharing:
        made = sharing.add(name, role, _password())
    if as_json:
        emit({"name": made.name, "role": made.role.value})
    else:
        say(f"{made.name} may sign in as {made.role.value}.")
    return Exit.DONE


@account_app.command("list")
def list_accounts(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """List the accounts, and how many devices are signed in with each.

    Example: heelstamp account list --shop shop
    """
    with _sharing(shop) as sharing:
        standing = [one.account for one in sharing.standing()]
        rows = [(one, standing.count(one.name)) for one in sharing.store.accounts()]
    if as_json:
        emit(
            [
                {
                    "name": one.name,
                    "role": one.role.value,
                    "made": f"{one.made.date().isoformat()}",
                    "devices": n,
                }
                for one, n in rows
            ]
        )
    elif rows:
        table(
            [
                (one.name, one.role.value, f"{one.made.date().isoformat()}", str(n))
                for one, n in rows
            ],
            ("name", "role", "since", "devices signed in"),
        )
    else:
        say('There are none yet. Begin with: heelstamp account add "examiner A" --role owner.')
    return Exit.DONE


@account_app.command("password")
def password(name: Name, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Set a new password for an account; every device signed in with it is signed out.

    Example: heelstamp account password "examiner A" --shop shop
    """
    with _sharing(shop) as sharing:
        sharing.set_password(name, _password())
    if as_json:
        emit({"name": name, "changed": True})
    else:
        say(f"{name} has a new password; all its devices are signed out.")
    return Exit.DONE


@account_app.command("no-code")
def no_code(name: Name, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Let an account that lost its authenticator sign in by its password alone.

    Example: heelstamp account no-code "examiner A" --shop shop
    """
    with _sharing(shop) as sharing:
        was = sharing.store.end_second_factor(name)
    if as_json:
        emit({"name": name, "ended": was})
    else:
        say(f"{name} signs in by its password alone{'' if was else ', as before'}.")
    return Exit.DONE


@account_app.command("remove")
def remove(name: Name, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Remove an account; what it entered stays in the journals.

    Example: heelstamp account remove "examiner B" --shop shop
    """
    with _sharing(shop) as sharing:
        sharing.store.remove(name)
    if as_json:
        emit({"name": name, "removed": True})
    else:
        say(f"{name} may no longer sign in. What it entered stays.")
    return Exit.DONE


@token_app.command("add")
def add_token(
    name: Name,
    uses: Annotated[str, typer.Option("--for", help="What uses it, as bookkeeping.")],
    scope: Annotated[
        list[str] | None, typer.Option(help="enter or sums, besides look (repeatable).")
    ] = None,
    days: Annotated[int, typer.Option(help="Days that it lasts.")] = 90,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Issue a token of an account; it is printed once and kept nowhere.

    Example: heelstamp account token add "examiner A" --for bookkeeping --scope sums --shop shop
    """
    from heelstamp.shop.programs import issue_token

    with _sharing(shop) as sharing:
        plain, made = issue_token(sharing, name, uses, scope or (), days)
    if as_json:
        emit({"token": plain, "scopes": list(made.scopes), "until": made.until.isoformat()})
    else:
        say(plain)
        say(
            f"Keep it where only {made.name} reads it; it is not shown again. It may "
            f"{', '.join(made.scopes)}, until {made.until.date().isoformat()}. Send it as "
            "Authorization: Bearer TOKEN."
        )
    return Exit.DONE


@token_app.command("list")
def list_tokens(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """List the tokens that hold.

    Example: heelstamp account token list --shop shop
    """
    from heelstamp.shop.programs import SHOWN, tokens_of

    with _sharing(shop) as sharing:
        found = tokens_of(sharing)
    head = ("token", "account", "for", "scopes", "until")
    rows = [
        (
            one.digest[:SHOWN],
            one.account,
            one.name,
            " ".join(one.scopes),
            one.until.date().isoformat(),
        )
        for one in found
    ]
    if as_json:
        emit([dict(zip(head, row, strict=True)) for row in rows])
    elif rows:
        table(rows, head)
    else:
        say("There are none.")
    return Exit.DONE


@token_app.command("end")
def end_token(
    begins: Annotated[str, typer.Argument(metavar="TOKEN", help="As the list shows it.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """End a token; the program that sends it is let in no more.

    Example: heelstamp account token end 5f0c8a31b2d4 --shop shop
    """
    from heelstamp.shop.programs import end_token as end

    with _sharing(shop) as sharing:
        gone = end(sharing, begins)
    if as_json:
        emit({"account": gone.account, "for": gone.name, "ended": True})
    else:
        say(f"The token of {gone.account} for {gone.name} has ended.")
    return Exit.DONE


@contextmanager
def _sharing(shop: Path) -> Iterator[Sharing]:
    from heelstamp.shop.sharing import Sharing

    sharing = Sharing(shop)
    try:
        yield sharing
    finally:
        sharing.close()


def _password() -> str:
    """Ask at the terminal, unseen and twice; else read one line. Never from the command itself."""
    if sys.stdin is not None and sys.stdin.isatty():
        asked: str = typer.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
        return asked
    line = "" if sys.stdin is None else sys.stdin.readline(LINE_MOST)
    if not line.rstrip("\r\n"):
        raise InputError(
            "no password came",
            where="standard input",
            remedy="Type it when asked, or send it as one line to standard input.",
        )
    return line.rstrip("\r\n")
