"""Enquiries at the counter: entered by role, answered from the findings, the name kept apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.casework.buyer_questions import (
    Answer,
    Usual,
    answer,
    find_question,
    log_entries,
    task_entries,
)
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.sale.enquiries import Enquirer, enquirers_of, queue_of
from heelstamp.catalogue import DossierState, Enquiry, PartsTree
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.persons import Person
    from heelstamp.shop.opened import OpenShop

FIELDS = ("party", "event", "text", "amount", "said_by", "on", "note")


@dataclass(frozen=True)
class EnquiryView:
    """The enquiries about an instrument.

    Attributes
    ----------
    going_on, ended
        Enquirers, in the order in which they came.
    queue
        Those who wait for their turn.
    names
        Name and address by role, of who is not erased.
    """

    going_on: tuple[Enquirer, ...]
    ended: tuple[Enquirer, ...]
    queue: tuple[Enquirer, ...]
    names: Mapping[str, Person]
    next_role: str


def enquiries_of(state: DossierState) -> tuple[Enquirer, ...]:
    """Who asked about an instrument."""
    return enquirers_of(state.of(Enquiry).values())


def enquiry_view(shop: OpenShop, tag: str) -> EnquiryView:
    """Lay out the enquiries about an instrument."""
    from heelstamp.casework.persons import next_role

    state = shop.subject(tag).state
    found = enquiries_of(state)
    here = [one for one in shop.persons.all() if one.tag == tag]
    return EnquiryView(
        tuple(one for one in found if not one.ended),
        tuple(one for one in found if one.ended),
        queue_of(found),
        {one.role: one for one in here if one.name},
        next_role(here, state),
    )


def enter_enquiry(
    shop: OpenShop, tag: str, stamp: EntryStamp, told: Mapping[str, Any], *, by: str
) -> None:
    """Enter one thing of a talk with an enquirer; their name, where it is told, is kept apart.

    Parameters
    ----------
    told
        Fields of `heelstamp.catalogue.Enquiry`, ``before`` and ``after`` as lists of frames; and
        ``name``, ``contact`` of who asks.

    Raises
    ------
    InputError
        A field is wanting or cannot be read.
    ConflictError
        It lies before its cause, or a hit in a list of stolen goods stands.
    """
    from heelstamp.shop.persons import keep_person
    from heelstamp.valuation.money import Money

    if stamp.id in shop.subject(tag).state.entered:
        return
    body: dict[str, Any] = {"id": stamp.id, "day": told.get("day") or stamp.at[:10]}
    body |= {key: told[key].strip() for key in FIELDS if (told.get(key) or "").strip()}
    body |= {key: list(told[key]) for key in ("before", "after") if told.get(key)}
    if "amount" in body:
        sum_ = Money.parse(body["amount"].removesuffix(shop.currency), shop.currency)
        body |= {"amount": str(sum_.amount), "currency": shop.currency}
    shop.enter(tag, [NewEntry("enquiry", body | stamp.late)], by=by)
    if (told.get("name") or "").strip():
        keep_person(
            shop,
            tag,
            role=body["party"],
            name=told["name"],
            contact=told.get("contact") or "",
            purpose="enquirer",
            day=body["day"],
        )


def given_to(shop: OpenShop, tag: str, asked: str) -> Answer:
    """Answer words from the findings, as the buyer's copy of the report tells them."""
    from heelstamp.shop.reports import document_at, told_at

    subject, told = shop.subject(tag), told_at(shop, tag, "buyer")
    question = _question(asked, subject.tree)
    return answer(question, told.subject.state, document_at(shop, tag, "buyer"))


def answer_enquiry(shop: OpenShop, tag: str, stamp: EntryStamp, party: str, *, by: str) -> None:
    """Answer the oldest open question of an enquirer from the findings, in one act.

    What was told stands under Questions too, so that the next one is told the same. What was not
    examined becomes a task, and the enquirer is told so.

    Raises
    ------
    InputError
        They asked nothing that is open.
    """
    from heelstamp.wording.about_enquiries import not_examined

    state = shop.subject(tag).state
    if stamp.id in state.entered:
        return
    found = next((one for one in enquiries_of(state) if one.party == party), None)
    if found is None or not found.open:
        raise InputError("nothing is asked and open", where=tag, received=party)
    given = given_to(shop, tag, found.open[0][2])
    asked = EntryStamp(stamp.second("q"), stamp.made, stamp.at)
    if given.examined:
        noted = log_entries(state, asked, given)
        text = " ".join(one.text for one in given.lines)
    else:
        noted, text = task_entries(state, asked, given.question, done=False), not_examined.say()
    body: dict[str, Any] = {"id": stamp.id, "party": party, "event": "answered", "text": text}
    body |= {"day": max(stamp.at[:10], found.last)}
    body |= {"question": asked.id} if noted else {}
    shop.enter(tag, [*noted, NewEntry("enquiry", body | stamp.late)], by=by)


def _question(ask: str, tree: PartsTree) -> Usual:
    from heelstamp.reference.counter_questions import load_questions

    usual = load_questions()
    named = next((one for one in usual if ask in (one.id, one.text)), None)
    return named or find_question(ask, usual, tree)
