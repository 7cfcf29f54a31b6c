"""The application: its commands, and the door through which every error leaves as one message."""

from __future__ import annotations

import os
import sys
from copy import copy
from functools import cache
from pathlib import Path

import click
import typer

from heelstamp import __version__
from heelstamp.cli import (
    accounts,
    census,
    checking,
    condition,
    counter,
    covering,
    crackle,
    demonstration,
    dossiers,
    due,
    examining,
    federation,
    glow,
    jack,
    keeping,
    listing,
    masked_sums,
    moving,
    own_record,
    packing,
    panel,
    papers,
    pitch,
    planning,
    pricing,
    selling,
    serving,
    setting_up,
    shipping,
    spreadsheets,
    stringing,
    triage,
    webhooks,
    work_plan,
    working,
)
from heelstamp.cli.exits import Exit, exit_for
from heelstamp.cli.output import ReaderGoneError, begin, complain, complain_of, emit, error_value
from heelstamp.cli.streams import streamed
from heelstamp.errors import HeelstampError

QUIET = "--quiet"

app = typer.Typer(
    name="heelstamp",
    invoke_without_command=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Date an old electric guitar from its parts, state what is first and what is not, and "
    "keep the record. Exit codes: 0 done, 1 findings against, 2 misuse or bad input, 3 could "
    "not decide. A file named - is standard input, or standard output after -o and its like. "
    "Without a command the bench opens in a browser.",
)
app.command("demo")(demonstration.demo)
app.command("new")(dossiers.new)
app.command("triage")(triage.triage)
app.command("add")(dossiers.add)
app.command("show")(dossiers.show)
app.command("read")(examining.read)
app.command("date")(examining.date)
app.command("next")(planning.next_inspection)
app.command("condition")(condition.condition)
app.command("work-plan")(work_plan.work_plan)
app.command("glow")(glow.glow)
app.command("price")(pricing.price)
app.add_typer(pricing.sales_app, name="sales")
app.add_typer(selling.sale_app, name="sale")
app.add_typer(spreadsheets.spreadsheet_app, name="spreadsheet")
app.add_typer(covering.cover_app, name="cover")
app.add_typer(shipping.shipping_app, name="shipping")
app.add_typer(counter.enquiry_app, name="enquiry")
app.add_typer(counter.persons_app, name="persons")
app.command("due")(due.due)
app.command("clearance")(pricing.clearance)
app.command("panel")(panel.panel)
app.command("strings")(stringing.strings)
app.command("setup")(setting_up.setup)
app.command("pitch")(pitch.pitch)
app.command("crackle")(crackle.crackle)
app.command("jack")(jack.jack)
app.add_typer(papers.app, name="paper")
listing.listing_papers(papers.app)
app.command("listing")(listing.listing)
app.command("pack")(packing.pack)
app.add_typer(packing.key_app, name="key")
app.command("backup")(keeping.backup)
app.command("restore")(keeping.restore)
app.command("move")(moving.move)
app.command("export")(keeping.export)
app.command("import")(keeping.import_)
app.command("verify")(checking.verify)
app.add_typer(checking.chronology_app, name="chronology")
census.census_commands(checking.chronology_app)
app.add_typer(own_record.app, name="own-record")
app.add_typer(federation.federation_app, name="federation")
masked_sums.masked_sum_commands(federation.federation_app)
app.command("redate")(census.redate)
app.command("serve")(serving.serve)
app.command("work")(working.work)
app.add_typer(accounts.account_app, name="account")
app.add_typer(webhooks.webhook_app, name="webhook")
app.command("doctor")(checking.doctor)


def _version(value: bool) -> None:
    if value:
        sys.stdout.write(f"Heelstamp {__version__}\n")
        raise typer.Exit


@app.callback()
def _root(
    context: typer.Context,
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Print the version and stop."
    ),
    quiet: bool = typer.Option(
        False, "--quiet", help="Say nothing but errors, and what --json asks for; anywhere."
    ),
) -> int | None:
    del version, quiet
    return serving.open_bench() if context.invoked_subcommand is None else None


@cache
def _command(first: str) -> click.Command:
    """The commands as the parser sees them: only the one called *first*, where there is one.

    Making all of them takes longer than many a command.
    """
    here = copy(app)
    here.registered_commands = [one for one in app.registered_commands if one.name == first]
    here.registered_groups = [one for one in app.registered_groups if one.name == first]
    asked = here.registered_commands or here.registered_groups
    return typer.main.get_command(here if asked else app)


def main() -> None:
    """Run a command; every deliberate error ends as one message and its exit code."""
    words = [one for one in sys.argv[1:] if one != QUIET]
    begin(quiet=QUIET in sys.argv[1:])
    as_json = "--json" in words
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed by whoever started us
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        with streamed(words) as given:
            first = next((one for one in given if not one.startswith("-")), "")
            code = _command(first)(given, standalone_mode=False)
            sys.stdout.flush()
    except HeelstampError as error:
        if as_json:
            emit(error_value(error))
        complain_of(error)
        sys.exit(exit_for(error))
    except click.ClickException as error:
        error.show(sys.stderr)
        sys.exit(Exit.MISUSE)
    except (click.exceptions.Abort, KeyboardInterrupt):
        complain("heelstamp: stopped; nothing half-written was left behind.")
        sys.exit(Exit.MISUSE)
    except (ReaderGoneError, BrokenPipeError):
        # the reader has seen enough; nothing more may be flushed into the closed pipe
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(Exit.DONE)
    except OSError as error:
        complain(f"heelstamp: the machine refused ({error.strerror}). Check disk and permissions.")
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(Exit.MISUSE)
    sys.exit(int(code or Exit.DONE))
