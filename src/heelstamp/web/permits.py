"""Who may ask for what when the shop is shared: one table for pages and for the JSON API.

What is entered by an address is held to the table of kinds of entry besides, wherever it comes from
(`heelstamp.casework.sharing.rights`); roles that follow from a kind are taken from there. The first
row that fits a path decides. ``*`` stands for one step of a path, ``**`` for the rest of
it. A path that no row names may be looked at by everyone who is signed in and changed by owners
alone, so that a screen forgotten here is closed, not open.
"""

from __future__ import annotations

from typing import NamedTuple

from heelstamp.casework.sharing import Role
from heelstamp.casework.sharing.rights import BENCH, PUBLISHES, RIGHTS, SUM
from heelstamp.web.guard import SAFE

READER, EXAMINER, OWNER = Role.READER, Role.EXAMINER, Role.OWNER


ACTS = "/api/acts"
"""Below it programs do what the forms of the pages do, each under the path of its page."""


class Permit(NamedTuple):
    """Least role that may look at a path, and that may change something by it; None is anybody."""

    path: str
    look: Role | None
    change: Role | None


PERMITS = (
    Permit("/static/**", None, OWNER),
    Permit("/worker.js", None, OWNER),
    Permit("/unreachable", None, OWNER),
    Permit("/health", None, OWNER),
    Permit("/light", READER, None),
    Permit("/sign-in", None, None),
    Permit("/trust/**", None, OWNER),
    Permit("/pair/*", None, None),
    Permit("/pairing", None, None),
    Permit("/pair", EXAMINER, EXAMINER),
    Permit("/pair/desk/*", EXAMINER, EXAMINER),
    Permit("/owner/*", None, None),  # an owner with a link: its secret is looked at there
    Permit("/owner-sends/**", None, None),
    Permit("/sign-out", READER, READER),
    Permit("/account/**", READER, READER),
    Permit("/accounts/**", OWNER, OWNER),
    Permit("/webhooks/**", OWNER, OWNER),
    Permit("/hide", READER, READER),
    Permit("/lengths", READER, READER),
    Permit("/calls/*/let-go", OWNER, OWNER),
    Permit("/calls/**", SUM.see, EXAMINER),
    Permit("/new", RIGHTS["instrument"].enter, RIGHTS["instrument"].enter),
    Permit("/begin/**", OWNER, OWNER),
    Permit("/makers/**", READER, OWNER),
    Permit("/maker/*/shops/**", OWNER, OWNER),
    Permit("/maker/**", READER, OWNER),
    Permit("/due", RIGHTS["sale"].see, OWNER),
    Permit("/due.ics", RIGHTS["sale"].see, OWNER),
    Permit("/spreadsheet/sales/**", SUM.enter, SUM.enter),
    Permit("/spreadsheet/census/**", OWNER, OWNER),
    Permit("/spreadsheet/**", RIGHTS["instrument"].enter, RIGHTS["instrument"].enter),
    Permit("/tables/*", SUM.see, OWNER),
    Permit("/money/**", SUM.see, SUM.enter),
    Permit("/dossier/*/sale/**", RIGHTS["sale"].see, RIGHTS["sale"].enter),
    Permit("/dossier/*/listing/own", RIGHTS["sale"].see, RIGHTS["sale"].see),  # keeps nothing
    Permit("/dossier/*/listing/sound", RIGHTS["sale"].see, PUBLISHES),
    Permit("/dossier/*/listing/**", RIGHTS["sale"].see, RIGHTS["issue"].enter),
    Permit("/dossier/*/enquiries/**", RIGHTS["enquiry"].see, RIGHTS["enquiry"].enter),
    Permit("/dossier/*/shipping/**", RIGHTS["packing"].see, RIGHTS["packing"].enter),
    Permit("/cover/**", SUM.see, OWNER),
    Permit("/persons/**", RIGHTS["enquiry"].see, OWNER),
    Permit("/dossier/*/money/**", SUM.see, SUM.enter),
    Permit("/dossier/*/work-plan/**", SUM.see, SUM.enter),
    Permit("/dossier/*/reports/check", BENCH.see, BENCH.enter),
    Permit("/dossier/*/reports/words", BENCH.see, PUBLISHES),
    Permit("/dossier/*/reports/**", RIGHTS["paper"].see, RIGHTS["paper"].enter),
    Permit("/dossier/*/pack/*", RIGHTS["paper"].enter, OWNER),
    Permit("/dossier/*/forms/**", SUM.see, RIGHTS["paper"].enter),  # they hold sums and owners
    Permit("/dossier/*/voice", BENCH.enter, BENCH.enter),
    Permit("/dossier/*/sound/*", BENCH.enter, BENCH.enter),  # voices may be on recordings
    Permit("/dossier/**", BENCH.see, BENCH.enter),
    Permit("/api", READER, OWNER),
    Permit("/api/changes", READER, OWNER),
    Permit("/api/dossiers", BENCH.see, RIGHTS["instrument"].enter),
    Permit("/api/dossiers/*/photographs/**", BENCH.see, BENCH.enter),
    Permit("/api/dossiers/*/packs/*", RIGHTS["paper"].enter, OWNER),
    Permit("/api/dossiers/*/recordings/*", BENCH.enter, OWNER),
    Permit("/api/dossiers/*/price", SUM.see, OWNER),
    Permit("/api/dossiers/*/papers/**", SUM.see, RIGHTS["paper"].enter),
    Permit("/api/dossiers/*/entries", BENCH.see, BENCH.enter),
    Permit("/api/dossiers/*/next", SUM.see, OWNER),  # it tells what a look is worth in money
)
UNNAMED = Permit("**", READER, OWNER)
ASKED_AT_LENGTH = frozenset({"/api/changes"})
"""Addresses that are asked by POST, because the question is long, and that change nothing."""


def permit_of(path: str) -> Permit:
    """The row that decides about a path; an act of a page by a program is one of that page."""
    steps = path.removeprefix(ACTS).split("/") if path.startswith(f"{ACTS}/") else path.split("/")
    return next((one for one in PERMITS if _fits(one.path.split("/"), steps)), UNNAMED)


def changes(path: str, method: str) -> bool:
    """Whether a request may change something; what is asked for at length is sent by POST too."""
    return method not in SAFE and path not in ASKED_AT_LENGTH


def least_role(path: str, method: str) -> Role | None:
    """The least role that may do this; None where nobody need be signed in."""
    permit = permit_of(path)
    return permit.change if changes(path, method) else permit.look


def _fits(wanted: list[str], steps: list[str]) -> bool:
    if wanted[-1] == "**":
        wanted = wanted[:-1]
        steps = steps[: len(wanted)]
    return len(wanted) == len(steps) and all(
        one in ("*", step) for one, step in zip(wanted, steps, strict=True)
    )
