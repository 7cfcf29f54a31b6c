"""The calendar of an instrument: each rule from the journal and the terms alone.

The form of the calendar file is held against a general reader of RFC 5545 written here from the
text of the standard, and against the package icalendar where it is installed.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from heelstamp.casework.appraisal.consignment import Terms, parse_terms
from heelstamp.casework.calendar_file import calendar_text
from heelstamp.casework.due import Due, backup_due, due_of
from heelstamp.casework.rack import last_sum
from heelstamp.catalogue import DossierState, Folding
from heelstamp.reference.parts_trees import tree_loader

TREE = tree_loader()("guitar")
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": "H-1",
}
RECEIVED = ("2026-01-02", "custody", {"event": "received", "giver": "owner", "receiver": "shop"})


def record(*told: tuple[str, str, dict[str, Any]]) -> DossierState:
    folding = Folding(TREE)
    folding.add("instrument", INSTRUMENT, at="2026-01-02T08:00:00Z", where="first")
    for number, (day, kind, said) in enumerate(told):
        body = {"id": f"e{number}", **said}
        folding.add(kind, body, at=f"{day}T09:00:00Z", by="examiner A", where=f"entry {number}")
    return folding.state


def terms(**more: Any) -> Terms:
    data = {
        "schema": "heelstamp/consignment/1",
        "currency": "USD",
        "commission": [{"rate": "20 %"}],
        "start": "9,900",
        "reserve": "8,000",
        "cut": {"share": "4 %", "every_days": 30, "step": "50"},
        "term_days": 180,
        "pay_days": 10,
        **more,
    }
    return parse_terms(data, where="terms")


def days(
    state: DossierState, today: str = "2026-01-03", held: Terms | None = None
) -> dict[str, str]:
    rows = due_of(state, TREE, held, date.fromisoformat(today))
    return {one.kind: one.day for one in rows}


def sale(*told: tuple[str, str, dict[str, Any]]) -> list[tuple[str, str, dict[str, Any]]]:
    found = []
    for event, day, more in told:
        money = {"currency": "USD"} if "amount" in more else {}
        found.append((day, "sale", {"event": event, "day": day, **money, **more}))
    return found


OFFERED = sale(
    ("examined", "2026-01-10", {}),
    ("cleared", "2026-01-10", {}),
    ("offered", "2026-01-20", {"amount": "9900"}),
)
AGREED = [*OFFERED, *sale(("agreed", "2026-02-01", {"party": "buyer B", "amount": "9000"}))]
LATE, WHY = date(2026, 3, 1), {"reason": "agreed with buyer B"}
PAYMENT = {"of": "balance", "means": "transfer", "amount": "9000", "id": "p1"}
PAID = [
    *AGREED,
    *sale(
        ("payment", "2026-02-02", PAYMENT),
        ("funds cleared", "2026-02-04", {"names": "p1"}),
        ("paid", "2026-02-04", {}),
    ),
]
WINDOW = [
    *PAID,
    *sale(
        ("handed over", "2026-02-05", {}), ("window opened", "2026-02-06", {"until": "2026-02-20"})
    ),
]


def test_the_owner_is_asked_soon_and_the_term_runs_from_receipt() -> None:
    found = days(record(RECEIVED), held=terms(cover_until="2026-06-30"))
    assert found == {"consent": "2026-01-04", "term": "2026-07-01", "cover": "2026-06-16"}
    assert days(record()) == {}


def test_a_neck_rests_after_strings_until_it_is_read() -> None:
    granted = ("2026-01-03", "consent", {"act": "fit strings", "granted": True, "by": "owner"})
    fit = {"act": "fit strings", "part": "strings", "reason": "set", "reversible": True}
    read = {"quantity": "relief", "part": "neck", "value": 0.2, "unit": "mm", "stage": "final"}
    fitted = (RECEIVED, granted, ("2026-01-05", "treatment", fit))
    assert days(record(*fitted))["rest"] == "2026-01-07"
    early = record(*fitted, ("2026-01-06", "measurement", read))
    assert days(early)["rest"] == "2026-01-07"
    done = record(*fitted, ("2026-01-07", "measurement", read))
    assert "rest" not in days(done)


def test_sums_are_written_as_on_every_paper() -> None:
    told = " ".join(one.told for one in due_of(record(RECEIVED, *AGREED), TREE, terms(), LATE))
    assert "9,000 USD of the price is not paid" in told


def test_what_is_agreed_is_not_called_sold() -> None:
    price = ("2026-02-01", "price", {"of": "sold", "amount": "9000", "currency": "USD"} | WHY)
    agreed = record(RECEIVED, *AGREED, price)
    assert last_sum(agreed) == "agreed at 9,000 USD"
    paid = record(RECEIVED, *AGREED, price, *PAID[len(AGREED) :])
    assert last_sum(paid) == "sold at 9,000 USD"


def test_searches_and_values_grow_old() -> None:
    value = {"of": "insured value", "amount": "10500", "reason": "agreed"}
    searched = {"register": "a list", "hit": False, "day": "2026-01-03"}
    state = record(
        RECEIVED, ("2026-01-03", "price", value), ("2026-01-08", "title_search", searched)
    )
    found = days(state)
    assert (found["revaluation"], found["search"]) == ("2027-01-03", "2026-04-03")


def test_price_cuts_run_from_the_first_offer_and_tell_when_they_are_late() -> None:
    found = due_of(record(RECEIVED, *OFFERED), TREE, terms(), date(2026, 2, 25))
    cut = next(one for one in found if one.kind == "price cut")
    assert (cut.day, cut.late) == ("2026-02-19", 6)  # 30 days after 20 January
    assert "9,500 USD" in cut.told
    lowered = sale(("price cut", "2026-02-19", {"amount": "9500"}))
    again = days(record(RECEIVED, *OFFERED, *lowered), "2026-02-25", terms())
    assert again["price cut"] == "2026-03-21"


@pytest.mark.parametrize(
    ("steps", "wanted"),
    [
        (
            [*OFFERED, *sale(("held", "2026-01-21", {"party": "A", "until": "2026-01-28"}))],
            {"hold": "2026-01-28"},
        ),
        (AGREED, {"deposit": "2026-02-04", "balance": "2026-02-15"}),
        (AGREED + sale(("payment", "2026-02-02", PAYMENT)), {"funds": "2026-02-07"}),
        (PAID, {"collection": "2026-02-11"}),
        (PAID + sale(("handed over", "2026-02-05", {})), {"delivery": "2026-02-10"}),
        (WINDOW, {"return window": "2026-02-21"}),
        (WINDOW + sale(("returned", "2026-02-10", {})), {"refund": "2026-02-13"}),
        (WINDOW + sale(("final", "2026-02-21", {"amount": "7200"})), {"payout": "2026-03-03"}),
        (
            WINDOW
            + sale(
                ("final", "2026-02-21", {"amount": "7200"}),
                ("payout", "2026-02-22", {"amount": "7200"}),
                ("settled", "2026-02-22", {}),
            ),
            {},
        ),
    ],
)
def test_each_state_of_a_sale_has_its_dates(steps: Any, wanted: dict[str, str]) -> None:
    money = {"hold", "deposit", "balance", "funds", "collection", "delivery", "return window"}
    money |= {"refund", "payout", "settling"}
    found = days(record(RECEIVED, *steps), "2026-01-22", terms())
    assert {kind: day for kind, day in found.items() if kind in money} == wanted


def test_a_buyer_is_asked_a_year_later_once() -> None:
    gone = ("2026-02-05", "custody", {"event": "to buyer", "giver": "shop", "receiver": "buyer B"})
    assert days(record(RECEIVED, gone))["follow-up"] == "2027-02-05"
    asked = ("2027-02-06", "decision", {"about": "follow-up", "decided": "asked", "reason": "year"})
    assert "follow-up" not in days(record(RECEIVED, gone, asked))


def test_a_backup_that_was_never_made_is_due_today() -> None:
    assert backup_due("", date(2026, 3, 1), every=7).late == 0
    assert backup_due("2026-02-01", date(2026, 3, 1), every=7).late == 21


HARD = "Ask, then; look \\ twice.\nÄrger über " + "größte Mühe " * 12


def hard_rows() -> list[Due]:
    one = due_of(record(RECEIVED), TREE, terms(), date(2026, 1, 3))
    from msgspec.structs import replace

    return [replace(one[0], told=HARD), *one[1:]]


def _unescaped(found: re.Match[str]) -> str:
    return "\n" if found[1] in "nN" else found[1]


def read_back(text: str) -> list[dict[str, str]]:
    """Read events by RFC 5545: unfold (3.1), split name from value, undo escapes (3.3.11)."""
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    events: list[dict[str, str]] = []
    for line in re.sub("\r\n[ \t]", "", text).split("\r\n"):
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            events.append({})
        elif events and name not in ("END", ""):
            events[-1][name] = re.sub(r"\\(.)", _unescaped, value)
    return events


def test_the_calendar_file_reads_back_as_it_was_said() -> None:
    rows = hard_rows()
    text = calendar_text(rows, at="2026-01-03T09:00:00Z", name="Bench; test")
    found = read_back(text)
    assert [one["DESCRIPTION"] for one in found] == [one.told for one in rows]
    assert [one["DTSTART;VALUE=DATE"] for one in found] == [
        one.day.replace("-", "") for one in rows
    ]
    assert len({one["UID"] for one in found}) == len(rows)
    assert calendar_text(rows, at="2026-01-03T09:00:00Z", name="Bench; test") == text


def test_a_general_library_reads_the_calendar_file() -> None:
    icalendar = pytest.importorskip("icalendar")
    rows = hard_rows()
    text = calendar_text(rows, at="2026-01-03T09:00:00Z", name="Bench; test")
    whole = icalendar.Calendar.from_ical(text)
    events = whole.walk("VEVENT")
    assert [str(one["DESCRIPTION"]) for one in events] == [one.told for one in rows]
    assert [one.decoded("DTSTART").isoformat() for one in events] == [one.day for one in rows]
    assert str(whole["VERSION"]) == "2.0"
    assert not any(one.errors for one in [whole, *events])
