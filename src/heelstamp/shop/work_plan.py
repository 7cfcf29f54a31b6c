"""The plan of work of a dossier: weighed, told, signed; a shop's own acts beside its settings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from heelstamp.errors import InputError
from heelstamp.shop.comparables import sales_of
from heelstamp.shop.files import read_file
from heelstamp.shop.folder import now
from heelstamp.shop.prices import fitted_of, rests_on

if TYPE_CHECKING:
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.casework.work_plan.describe import PlanTold
    from heelstamp.casework.work_plan.document import WorkActs
    from heelstamp.casework.work_plan.weighing import Weighed
    from heelstamp.shop.opened import OpenShop

ACTS_FILE = "work-acts.toml"
GROUND = "price model and the shop's settings"


def acts_of(shop: OpenShop) -> WorkActs:
    """Return the shop's own document of acts, or the bundled one."""
    from heelstamp.casework.work_plan.document import parse_work_acts
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.reference.work_acts import load_work_acts

    path = shop.folder / ACTS_FILE
    if not path.is_file():
        return load_work_acts()
    text = decode_text(read_file(path), path.name)
    return parse_work_acts(parse_document(text, path.name, "toml"), where=path.name)


def weighed_of(shop: OpenShop, tag: str) -> tuple[tuple[Weighed, ...], str]:
    """Weigh every act for a dossier, remembered; and the currency."""
    acts = acts_of(shop)
    ground = repr(("work plan", acts.digest, rests_on(shop, tag)))
    return shop.remembered(ground, tag, lambda: _weigh(shop, tag, acts))


def _weigh(shop: OpenShop, tag: str, acts: WorkActs) -> tuple[tuple[Weighed, ...], str]:
    from heelstamp.archive import digest_of
    from heelstamp.casework.work_plan.weighing import Standing, weigh_acts
    from heelstamp.reference.stop_rules import load_stop_table

    subject = shop.subject(tag)
    try:
        fitted = fitted_of(shop, subject, sales_of(shop, subject.chronology.id))
    except InputError:
        fitted = None  # no price: the sentences say what is wanting
    standing = Standing(
        subject.state,
        subject.tree,
        subject.chronology,
        load_stop_table(),
        fitted,
        {} if fitted is None else fitted.states,
    )
    seed = int(digest_of({"acts": acts.digest, "head": subject.state.head})[:12], 16)
    unit = shop.currency if fitted is None else fitted.priced.currency
    return weigh_acts(standing, acts, seed), unit


def plan_told(shop: OpenShop, tag: str) -> PlanTold:
    """Say what each act would cost, end and change."""
    from heelstamp.casework.work_plan.describe import tell_plan

    weighed, unit = weighed_of(shop, tag)
    told = _with_days(shop, tag, weighed)
    return tell_plan(shop.subject(tag).state, told, unit, ground=GROUND)


def _with_days(shop: OpenShop, tag: str, weighed: tuple[Weighed, ...]) -> tuple[Weighed, ...]:
    """Fill in how many days earlier it would sell, where a time can be foreseen."""
    from heelstamp.shop.selling_time import days_earlier

    known = [one for one in weighed if one.act is not None and one.gain is not None]
    gains = [(one.gain.mean, one.gain.low, one.gain.high) for one in known if one.gain is not None]
    try:
        found = days_earlier(shop, tag, now()[:10], gains) if gains else ()
    except InputError:
        return weighed  # no price is asked, or none is known: the sentence says so
    days = {
        one.key: (row[0], row[1], row[2])
        for one, row in zip(known, found, strict=True)
        if row is not None
    }
    return tuple(replace(one, days_earlier=days.get(one.key)) for one in weighed)


def sign_plan(
    shop: OpenShop, tag: str, stamp: EntryStamp, *, chosen: str, signed: str, by: str, hand: str
) -> None:
    """Enter the plan that the owner signed, and its consents.

    Parameters
    ----------
    chosen
        Keys of acts with commas between, or ``nothing``.
    by, hand
        Who signed, by role; whose hand enters it.

    Raises
    ------
    InputError
        No such act, no day, nobody signed.
    ConflictError
        A recorded sign stops an act that was chosen.
    """
    from heelstamp.casework.work_plan.signing import plan_entries

    acts = acts_of(shop)
    weighed, _ = weighed_of(shop, tag)
    entries = plan_entries(
        shop.subject(tag).state,
        stamp,
        acts,
        weighed,
        chosen=acts.named(chosen),
        signed=signed,
        by=by,
    )
    shop.enter(tag, entries, by=hand)
