"""Persons of a sale: their names apart from the journal, and when they are erased.

The journal names everybody by role (``enquirer 3``, ``buyer B``) and cannot be unwritten. Name and
address stand in a table of their own, from which they are erased by rule; what stays is the role
and what was said and paid, because that is the shop's account of its own acts. How long names must
or may be kept is a matter of local law: a shop sets days and reason of its own (`[retention]` in
``shop.toml``); those here are common practice without a source (accounts of many places: six to ten
years, from memory). The owner may erase one name earlier, or keep it longer with the reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Literal, get_args

import msgspec

from heelstamp.casework.sale.blocks import standing_of
from heelstamp.catalogue import DossierState, Enquiry, SaleStep
from heelstamp.errors import ConflictError, InputError
from heelstamp.wording import about_persons as about

Purpose = Literal["enquirer", "buyer", "owner"]
PURPOSES: tuple[Purpose, ...] = get_args(Purpose)
OVER = frozenset({"settled", "withdrawn"})
"""States of a sale in which nothing is owed to an owner any more."""


class Person(msgspec.Struct, frozen=True, kw_only=True):
    """Who somebody is that the journal names by role.

    Attributes
    ----------
    id
        Of the row.
    role
        As the journal of dossier *tag* names them.
    name, contact
        Empty once they are erased.
    purpose
        Why they are kept.
    since
        Day on which they were entered.
    kept_until, reason
        A later day set by the owner of the shop, and why; empty without.
    erased
        Day on which name and contact were erased; empty before.
    """

    id: str
    tag: str
    role: str
    name: str = ""
    contact: str = ""
    purpose: Purpose = "enquirer"
    since: str
    kept_until: str = ""
    reason: str = ""
    erased: str = ""


class Retention(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How long names of one purpose are kept, from the last that concerned them, and why."""

    days: Annotated[int, msgspec.Meta(ge=0, le=36_525)]
    why: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=300)]


RETENTION: Mapping[Purpose, Retention] = {
    "enquirer": Retention(days=180, why="to answer them"),
    "buyer": Retention(days=3650, why="for accounts and claims"),
    "owner": Retention(days=3650, why="for title, accounts and claims"),
}
"""Where the shop sets nothing of its own."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A person, the day on which the rule has them erased, and why they are kept till then.

    Attributes
    ----------
    erase_on
        None while what they are kept for goes on.
    """

    person: Person
    erase_on: date | None
    why: str


def kept_person(
    person: Person, state: DossierState, retention: Mapping[Purpose, Retention] = RETENTION
) -> Kept:
    """When a person is to be erased, by the dossier they belong to."""
    rule = retention.get(person.purpose, RETENTION[person.purpose])
    sale = standing_of(state)
    if person.kept_until:
        return Kept(person, date.fromisoformat(person.kept_until), person.reason)
    if person.purpose == "enquirer":
        days = [one.day for one in state.of(Enquiry).values() if one.party == person.role]
        last = max([person.since, *days])
        return Kept(
            person,
            date.fromisoformat(last) + timedelta(days=rule.days),
            about.kept_enquirer.say(day=last, days=rule.days, why=rule.why),
        )
    if person.purpose == "buyer":
        days = _days_of_sale(state, person.role)
        goes_on = sale.buyer == person.role and sale.state not in ("final", "settled")
        last = max([person.since, *days])
        until = date.fromisoformat(last) + timedelta(days=rule.days)
        return Kept(
            person,
            None if goes_on else until,
            about.kept_buyer.say(day=last, days=rule.days, why=rule.why),
        )
    last = max([person.since, *(one.day for one in state.of(SaleStep).values())])
    until = date.fromisoformat(last) + timedelta(days=rule.days)
    over = sale.state in OVER or state.custody_state == "back with the owner"
    return Kept(
        person,
        until if over else None,
        about.kept_owner.say(day=last, days=rule.days, why=rule.why),
    )


def _days_of_sale(state: DossierState, role: str) -> list[str]:
    """Days of every step from the agreement with this buyer to the next agreement."""
    found, theirs = [], False
    for step in state.of(SaleStep).values():
        if step.event == "agreed":
            theirs = step.party == role
        if theirs:
            found.append(step.day)
    return found


def erase(person: Person, day: str) -> Person:
    """Take name and contact out of a row; the role stays.

    Raises
    ------
    ConflictError
        They are erased already.
    """
    if person.erased:
        raise ConflictError(
            "this name is erased already", where=person.role, received=person.erased
        )
    return replace_person(person, name="", contact="", erased=day)


def replace_person(person: Person, **changes: str) -> Person:
    """Return a person with some fields changed."""
    return msgspec.structs.replace(person, **changes)


def new_person(
    known: Iterable[Person],
    *,
    id_: str,
    tag: str,
    role: str,
    name: str,
    contact: str,
    purpose: str,
    day: str,
) -> Person:
    """Make the row of a person.

    Raises
    ------
    InputError
        No role or name, or no such purpose.
    ConflictError
        Another name stands under this role already.
    """
    chosen = next((one for one in PURPOSES if one == purpose), None)
    if chosen is None:
        raise InputError(
            "no such purpose", received=purpose, remedy="One of " + ", ".join(PURPOSES) + "."
        )
    if not role.strip() or not name.strip():
        raise InputError("a person without role or name", remedy="Give both.")
    taken = [one for one in known if (one.tag, one.role, one.erased) == (tag, role.strip(), "")]
    if any(one.id != id_ for one in taken):
        raise ConflictError(
            "another name stands under this role",
            where=f"{tag}, {role}",
            remedy="Give the next role, as enquirer 4.",
        )
    return Person(
        id=id_,
        tag=tag,
        role=role.strip(),
        name=name.strip(),
        contact=contact.strip(),
        purpose=chosen,
        since=day,
    )


def next_role(known: Iterable[Person], state: DossierState) -> str:
    """The first role of an enquirer that nobody has, neither in the table nor in the journal."""
    taken = {one.role for one in known} | {one.party for one in state.of(Enquiry).values()}
    number = 1
    while f"enquirer {number}" in taken:
        number += 1
    return f"enquirer {number}"
