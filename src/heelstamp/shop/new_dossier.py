"""Opening a dossier: what there is to choose from, and the entry that opens it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import NewEntry
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.demonstration import DEMO_TAG
from heelstamp.shop.folder import now
from heelstamp.shop.settings import CHRONOLOGIES_FOLDER, PARTS_FOLDER

if TYPE_CHECKING:
    from heelstamp.casework.opening import Known
    from heelstamp.shop.opened import OpenShop


def known_chronologies(shop: OpenShop) -> tuple[tuple[Known, ...], tuple[str, ...]]:
    """List the chronologies that can be asked, and what is wrong with those that cannot."""
    from heelstamp.casework.opening import Known
    from heelstamp.reference.chronology_files import chronology_ids
    from heelstamp.shop.subjects import chronology_for

    known, faults = [], []
    for id_ in chronology_ids(shop.folder / CHRONOLOGIES_FOLDER):
        try:
            one = chronology_for(id_, shop.folder)
        except InputError as error:
            faults.append(str(error))
        else:
            known.append(Known(id_, one.kind, one.maker, one.model, one.invented))
    return tuple(known), tuple(faults)


def kinds(shop: OpenShop) -> tuple[str, ...]:
    """List the kinds of instrument that there is a parts tree for."""
    from heelstamp.reference.parts_trees import kinds_of_instrument

    return kinds_of_instrument(shop.folder / PARTS_FOLDER)


def free_tag(shop: OpenShop) -> str:
    """Return the tag after the newest one; the demonstration's is none of the shop's own."""
    from heelstamp.casework.opening import next_tag

    _, newest = shop.journals.sheet("", 0, 2)
    own = next((tag for tag in newest if tag != DEMO_TAG), None)
    return next_tag(own, lambda tag: shop.journals.head(tag) is not None)


def open_dossier(shop: OpenShop, body: Mapping[str, Any], *, by: str) -> None:
    """Open a dossier; the same one sent twice by one hand is opened once.

    Raises
    ------
    InputError
        The entry cannot be read, or has no tag; its chronology is unknown or of another kind.
    ConflictError
        Another dossier has this tag.
    """
    from heelstamp.casework.at_entry import refuse_other_kind
    from heelstamp.casework.dossier import entries_of, open_with

    refuse_other_kind(str(body.get("kind")), shop.chronology(str(body.get("chronology"))))
    try:
        open_with(shop, [NewEntry("instrument", body)], at=now(), by=by)
    except ConflictError:
        tag = str(body.get("tag"))
        if shop.journals.head(tag) is None:
            raise
        first = entries_of(shop, tag)[0]
        if first.by != by or dict(first.body) != dict(body):
            raise
