"""Persons of a shop: kept with why, listed with the day on which the rule erases them, erased."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING
from uuid import uuid4

from heelstamp.casework.persons import (
    RETENTION,
    Kept,
    Person,
    Purpose,
    Retention,
    erase,
    kept_person,
    new_person,
    replace_person,
)
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import NotPermittedError, role_of
from heelstamp.catalogue.conversion import convert
from heelstamp.errors import HeelstampError, InputError, NotFoundError

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
    retention = retention_of(shop)
    for one in shop.persons.all():
        if tag and one.tag != tag:
            continue
        try:
            found.append(kept_person(one, shop.standing(one.tag)[0], retention))
        except HeelstampError as error:
            found.append(Kept(one, None, f"the dossier cannot be read: {error.what}"))
    return sorted(found, key=lambda one: (bool(one.person.erased), str(one.erase_on or "9999")))


def retention_of(shop: OpenShop) -> dict[Purpose, Retention]:
    """How long names are kept and why, by purpose: as the shop sets it, else common practice."""
    from heelstamp.shop.settings import read_settings

    return {**RETENTION, **read_settings(shop.folder).retention}


def keep_retention(shop: OpenShop, told: Mapping[str, tuple[str, str]], *, by: str) -> None:
    """Set how long names are kept: days and why by purpose, both blank for common practice.

    Comments of ``shop.toml`` are kept.

    Raises
    ------
    NotPermittedError
        Another hand than the owner's.
    InputError
        No such purpose, no number of days, or no reason; what held still does.
    """
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.shop.files import read_file, write_whole
    from heelstamp.shop.settings import SHOP_FILE, ShopSettings
    from heelstamp.shop.toml_revision import revised

    _owner(by, "retention")
    with shop.writing:
        text = decode_text(read_file(shop.folder / SHOP_FILE), SHOP_FILE)
        document = parse_document(text, SHOP_FILE, "toml")
        rows = dict(document.get("retention", {}))
        for purpose, (days, why) in told.items():
            rows.pop(purpose, None)
            if days.strip() or why.strip():
                rows[purpose] = {"days": _days(days, purpose), "why": why.strip()}
        wanted = {key: one for key, one in document.items() if key != "retention"}
        if rows:
            wanted["retention"] = rows
        convert(wanted, ShopSettings, where="retention")
        write_whole(shop.folder / SHOP_FILE, revised(text, wanted).encode("utf-8"))


def _days(text: str, purpose: str) -> int:
    plain = text.strip()
    if not (plain.isascii() and plain.isdigit() and len(plain) <= 5):
        raise InputError(
            "not a number of days",
            where=f"retention, {purpose}",
            received=text,
            remedy="Count whole days, up to a hundred years.",
        )
    return int(plain)


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
