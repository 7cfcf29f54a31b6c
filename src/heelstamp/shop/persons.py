"""Persons of a shop: kept with why, listed with the day on which the rule erases them, erased."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from heelstamp.casework.persons import Kept, Person, erase, kept_person, new_person, replace_person
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import NotPermittedError, role_of
from heelstamp.errors import HeelstampError, NotFoundError

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop


def keep_person(
    shop: OpenShop, tag: str, *, role: str, name: str, contact: str, purpose: str, day: str
) -> Person:
    """Keep the name behind a role; the same role and name again changes the address.

    Raises
    ------
    ConflictError
        Another name stands under this role.
    """
    shop.subject(tag)
    with shop.writing:
        known = shop.persons.all()
        same = next(
            (
                one
                for one in known
                if (one.tag, one.role, one.name, one.erased)
                == (tag, role.strip(), name.strip(), "")
            ),
            None,
        )
        id_ = f"person-{uuid4().hex[:10]}" if same is None else same.id
        made = new_person(
            known,
            id_=id_,
            tag=tag,
            role=role,
            name=name,
            contact=contact or (same.contact if same else ""),
            purpose=purpose,
            day=day if same is None else same.since,
        )
        shop.persons.keep(made)
    return made


def persons_kept(shop: OpenShop, tag: str = "") -> list[Kept]:
    """List the persons of a dossier, or of the whole shop, the first to be erased first.

    A person of a dossier that cannot be read is listed too, to be erased by hand.
    """
    found = []
    for one in shop.persons.all():
        if tag and one.tag != tag:
            continue
        try:
            found.append(kept_person(one, shop.standing(one.tag)[0]))
        except HeelstampError as error:
            found.append(Kept(one, None, f"the dossier cannot be read: {error.what}"))
    return sorted(found, key=lambda one: (bool(one.person.erased), str(one.erase_on or "9999")))


def erase_person(shop: OpenShop, id_: str, *, day: str, by: str) -> Person:
    """Erase name and address of a person; the role stays.

    Raises
    ------
    NotPermittedError
        Another hand than the owner's.
    NotFoundError
        There is no such person.
    ConflictError
        They are erased already.
    """
    _owner(by, id_)
    with shop.writing:
        gone = erase(_person(shop, id_), day)
        shop.persons.keep(gone)
    return gone


def keep_longer(shop: OpenShop, id_: str, *, until: str, reason: str, by: str) -> Person:
    """Keep a name until another day, with the reason."""
    from heelstamp.errors import InputError
    from heelstamp.units import read_day

    _owner(by, id_)
    read_day(until, "field until")
    if not reason.strip():
        raise InputError("no reason to keep it longer", remedy="Say why, as: a claim is open.")
    with shop.writing:
        changed = replace_person(_person(shop, id_), kept_until=until, reason=reason.strip())
        shop.persons.keep(changed)
    return changed


def _person(shop: OpenShop, id_: str) -> Person:
    found = next((one for one in shop.persons.all() if one.id == id_), None)
    if found is None:
        raise NotFoundError("no such person", received=id_, remedy="See the list of persons.")
    return found


def _owner(by: str, id_: str) -> None:
    if not role_of(by).may(Role.OWNER):
        raise NotPermittedError(
            "only the owner of the shop erases or keeps names", where=id_, remedy="Ask the owner."
        )
