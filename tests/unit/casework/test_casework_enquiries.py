"""Enquiries folded by party, and the day on which a name is erased (common practice, no source)."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fakes.stores import INSTRUMENT, memory_shop
from heelstamp.casework.dossier import append, open_dossier, state_of
from heelstamp.casework.persons import Person, erase, kept_person, new_person, next_role
from heelstamp.casework.sale.enquiries import enquirers_of, queue_of
from heelstamp.catalogue import Enquiry
from heelstamp.errors import ConflictError, InputError

AT = "2026-03-{:02d}T12:00:00Z"


def said(*rows: tuple[str, int, str, dict[str, Any]]) -> list[Enquiry]:
    return [
        Enquiry(id=f"n{n}", party=party, day=f"2026-03-{day:02d}", event=event, **more)  # type: ignore[arg-type]
        for n, (party, day, event, more) in enumerate(rows)
    ]


def test_questions_are_answered_in_their_order_and_prices_keep_their_days() -> None:
    (one,) = enquirers_of(
        said(
            ("enquirer 1", 2, "asked", {"text": "Neck off?"}),
            ("enquirer 1", 3, "asked", {"text": "Weight?"}),
            ("enquirer 1", 3, "answered", {"text": "Not examined."}),
            ("enquirer 1", 4, "price said", _sum("8000", "the enquirer")),
            ("enquirer 1", 4, "price said", _sum("9100", "the shop")),
        )
    )
    assert one.told == (("Neck off?", "Not examined."),)
    assert [words for _, _, words in one.open] == ["Weight?"]
    assert [(price.day, price.said_by, price.sum) for price in one.prices] == [
        ("2026-03-04", "the enquirer", "8,000 USD"),
        ("2026-03-04", "the shop", "9,100 USD"),
    ]


def _sum(amount: str, by: str) -> dict[str, Any]:
    return {"amount": amount, "currency": "USD", "said_by": by}


def test_who_waits_first_is_first_and_leaves_the_queue_when_the_talk_ends() -> None:
    rows = said(
        ("enquirer 1", 2, "asked", {"text": "?"}),
        ("enquirer 2", 3, "waits", {}),
        ("enquirer 1", 4, "waits", {}),
        ("enquirer 2", 5, "waits", {}),
    )
    assert [one.party for one in queue_of(enquirers_of(rows))] == ["enquirer 2", "enquirer 1"]
    over = [*rows, *said(("enquirer 2", 6, "ended", {"note": "bought elsewhere"}))]
    assert [one.party for one in queue_of(enquirers_of(over))] == ["enquirer 1"]


def test_photographs_after_a_viewing_follow_it_once() -> None:
    before = ("enquirer 1", 2, "viewed", {"before": ["f1"]})
    after = ("enquirer 1", 2, "viewed", {"after": ["f2"], "note": "a new scratch"})
    (one,) = enquirers_of(said(before, after))
    (seen,) = one.viewed
    assert (seen.before, seen.after, seen.note) == (("f1",), ("f2",), "a new scratch")
    with pytest.raises(ConflictError, match="a viewing that is not entered"):
        enquirers_of(said(before, after, after))


def test_what_lies_before_its_cause_is_refused() -> None:
    with pytest.raises(ConflictError, match="nothing that was asked"):
        enquirers_of(said(("enquirer 1", 2, "answered", {"text": "So."})))
    with pytest.raises(ConflictError, match="a day before"):
        enquirers_of(said(("a", 2, "waits", {}), ("a", 1, "ended", {"note": "so"})))


def person(**told: str) -> Person:
    plain: dict[str, Any] = {"id": "p1", "tag": "W-0001", "role": "enquirer 1", "name": "A. Name"}
    return Person(**{**plain, "since": "2026-03-01", **told})


def test_a_name_goes_after_the_last_word_and_a_buyers_after_the_sale() -> None:
    shop = memory_shop()
    open_dossier(shop, {**INSTRUMENT, "tag": "W-0001"}, at=AT.format(1), by="examiner A")
    body = {"party": "enquirer 1", "event": "asked", "day": "2026-03-05", "text": "?"}
    append(shop, "W-0001", "enquiry", {"id": "q1", **body}, at=AT.format(5), by="examiner A")
    state = state_of(shop, "W-0001")
    # 180 days after 5 March: 26 days of March left, then Apr-Aug 153, so 1 September
    assert kept_person(person(), state).erase_on == date(2026, 9, 1)
    assert kept_person(person(role="heir B", purpose="owner"), state).erase_on is None
    longer = kept_person(person(kept_until="2028-01-01", reason="a claim is open"), state)
    assert (longer.erase_on, longer.why) == (date(2028, 1, 1), "a claim is open")
    assert next_role([], state) == "enquirer 2"


def test_an_erased_row_holds_neither_name_nor_address_and_is_erased_once() -> None:
    gone = erase(person(contact="a street"), "2026-09-01")
    assert (gone.name, gone.contact, gone.erased, gone.role) == ("", "", "2026-09-01", "enquirer 1")
    with pytest.raises(ConflictError, match="erased already"):
        erase(gone, "2026-09-02")


def test_a_role_has_one_name_at_a_time() -> None:
    told = {"tag": "W-0001", "contact": "", "purpose": "enquirer", "day": "2026-03-01"}
    with pytest.raises(ConflictError, match="another name stands"):
        new_person([person()], id_="p2", role="enquirer 1", name="B. Other", **told)
    gone = erase(person(), "2026-09-01")
    assert new_person([gone], id_="p2", role="enquirer 1", name="B. Other", **told).name
    with pytest.raises(InputError, match="no such purpose"):
        new_person([], id_="p3", role="x", name="y", **{**told, "purpose": "friend"})
