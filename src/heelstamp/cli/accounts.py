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
    """Give an account a new password; every device signed in with it is signed out.

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
