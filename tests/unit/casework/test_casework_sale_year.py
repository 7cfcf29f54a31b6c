"""A year of twenty consignments run by the calendar alone: every date is met or shown late.

Each morning a person does part of what the calendar asks and leaves the rest; buyers and enquirers
come by chance. What vanished from the calendar must have been lifted by an entry that lifts it;
what was left must stand there on the next morning, one day later (common practice, no source).
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from heelstamp.casework.appraisal.consignment import parse_terms
from heelstamp.casework.due import Due, due_of
from heelstamp.casework.intake import acts_asked
from heelstamp.casework.sale.account import accounts, movements_of
from heelstamp.casework.sale.blocks import standing_of
from heelstamp.casework.sale.enquiries import enquirers_of
from heelstamp.casework.sale.gate import require_sale
from heelstamp.catalogue import DossierState, Enquiry, Folding
from heelstamp.catalogue.sale import on_day
from heelstamp.reference.parts_trees import tree_loader
from heelstamp.valuation.money import Money

TREE = tree_loader()("guitar")
FIRST = date(2026, 1, 5)
DAYS, PIECES, BY = 365, 20, "examiner A"
TERMS = parse_terms(
    {
        "schema": "heelstamp/consignment/1",
        "currency": "USD",
        "commission": [{"up_to": "5,000", "rate": "22 %"}, {"rate": "14 %"}],
        "charge": [{"name": "carriage", "amount": "128"}],
        "start": "9,900",
        "reserve": "8,000",
        "cut": {"share": "4 %", "every_days": 30, "step": "50"},
        "term_days": 365,
        "pay_days": 10,
    },
    where="terms",
)
LIFTED_BY: dict[str, set[str]] = {
    "consent": {"consent"},
    "search": {"title_search", "to buyer"},
    "revaluation": {"price", "to buyer"},
    "price cut": {"price cut", "held", "agreed"},
    "term": {"agreed", "to buyer"},
    "hold": {"hold ended", "agreed", ""},  # one whose day is past has left the queue by itself
    "deposit": {"payment", "fell through"},
    "balance": {"payment", "fell through"},
    "funds": {"funds cleared"},
    "collection": {"handed over", "to buyer"},
    "delivery": {"window opened"},
    "return window": {"final"},
    "payout": {"payout"},
    "settling": {"settled"},
    "enquiry": {"answered", "ended"},
    "viewing": {"viewed", "ended", "viewing set"},
    "after the viewing": {"viewed", "ended"},
    "follow-up": {"decision"},
}
"""By kind: entries after which it may be gone."""


@dataclass
class Piece:
    """One consignment, and what the calendar said of it on the morning before."""

    folding: Folding
    rng: random.Random
    state: DossierState = field(init=False)
    entries: int = 0
    done: set[str] = field(default_factory=set)
    before: dict[str, Due] = field(default_factory=dict)
    at: str = ""

    def enter(self, kind: str, **body: Any) -> None:
        """Enter through the gate, as a shop does."""
        stood = self.state if self.entries else None
        self.entries += 1
        told = {"id": f"e{self.entries}", **body}
        self.folding.enter(kind, told, at=self.at, by=BY, where=kind)
        self.state = self.folding.state
        require_sale(BY, stood, self.state)
        self.done.add(str(body.get("event", kind)))

    def over(self, on: date) -> bool:
        """Whether it was settled a week ago: only the talk a year later is left."""
        sale = standing_of(self.state)
        return sale.state == "settled" and sale.day < str(on - timedelta(days=7))

    def step(self, event: str, **more: Any) -> None:
        """Enter a step of the sale."""
        money = {"currency": "USD"} if "amount" in more else {}
        self.enter("sale", event=event, day=self.at[:10], **money, **more)

    def said(self, event: str, **more: Any) -> None:
        """Enter a thing of a talk."""
        self.enter("enquiry", event=event, day=self.at[:10], **more)


def begun(number: int) -> Piece:
    """Take a consignment in, ready to be offered."""
    folding = Folding(TREE)
    instrument = {"kind": "guitar", "maker": "Sallowby", "model": "Wherry"}
    data = {**instrument, "chronology": "sallowby-wherry", "tag": f"Y-{number:02d}"}
    folding.add("instrument", data, at=f"{FIRST}T08:00:00Z", where="first")
    piece = Piece(folding, random.Random(number))
    piece.at = f"{FIRST}T08:00:00Z"
    piece.enter("custody", event="received", giver="owner", receiver="shop")
    piece.enter("title_search", register="a list", hit=False, day=str(FIRST))
    piece.enter("materials_looked", found="none", reason="looked")
    piece.enter("owner", role="a consignor", signed=str(FIRST))
    piece.enter("price", of="insured value", amount="9100", currency="USD", reason="agreed")
    for name in ("f1", "f2"):
        frame = {"file": "ab" * 32, "name": "a.jpg", "media_type": "image/jpeg"}
        piece.enter("photograph", id=name, width=9, height=9, **frame)
    return piece


def act(piece: Piece, due: Due, today: str) -> None:  # noqa: C901, PLR0912
    """Do what one line of the calendar asks."""
    sale = on_day(standing_of(piece.state), today)
    what = due.id.split("/")[-1]
    talks = {one.party: one for one in enquirers_of(piece.state.of(Enquiry).values())}
    if due.kind == "consent":
        for asked in acts_asked(piece.state, TREE):
            if piece.state.leave(asked).standing == "not asked":
                piece.enter("consent", act=asked, granted=True, by="owner")
    elif due.kind == "search":
        piece.enter("title_search", register="a list", hit=False, day=today)
    elif due.kind == "revaluation":
        piece.enter("price", of="insured value", amount="9200", currency="USD", reason="again")
    elif due.kind == "price cut":
        first = date.fromisoformat(sale.offered)
        cuts = [one.price.amount for one in TERMS.schedule(first)]
        lower = [one for one in cuts if sale.asked is not None and one < sale.asked]
        piece.step("price cut", amount=str(lower[0]))
    elif due.kind == "hold" and any(one.id == what for one in sale.queue):
        piece.step("hold ended", names=what)
    elif due.kind == "deposit":
        piece.step("payment", of="deposit", means="transfer", amount="500.10")
    elif due.kind == "balance":
        left = (sale.agreed or Decimal(0)) - sale.received + sale.refunded
        piece.step("payment", of="balance", means="cash", amount=str(left))
    elif due.kind == "funds":
        piece.step("funds cleared", names=what)
    elif due.kind == "collection":
        piece.enter("custody", event="to buyer", giver="shop", receiver="buyer B")
        piece.step("handed over")
    elif due.kind == "delivery":
        until = date.fromisoformat(today) + timedelta(days=14)
        piece.step("window opened", until=str(until))
    elif due.kind == "return window":
        net = TERMS.settled(Money.of(sale.cleared, "USD")).net
        piece.step("final", amount=str(net.amount))
    elif due.kind == "payout":
        left = (sale.due or Decimal(0)) - sale.paid_out
        piece.step("payout", amount=str(left))
    elif due.kind == "settling":
        piece.step("settled")
    elif due.kind == "enquiry":
        party = next(p for p, one in talks.items() if any(row[0] == what for row in one.open))
        piece.said("answered", party=party, text="So it is.")
    elif due.kind == "viewing":
        piece.said("viewed", party=what, before=["f1"])
    elif due.kind == "after the viewing":
        party = next(p for p, one in talks.items() if any(v.id == what for v in one.viewed))
        piece.said("viewed", party=party, after=["f2"])
    elif due.kind == "follow-up":
        piece.enter("decision", about="follow-up", decided="content", reason="asked")


def chance(piece: Piece, today: str, day: int) -> None:
    """What comes from outside: enquirers, holds, a buyer."""
    rng, sale = piece.rng, on_day(standing_of(piece.state), today)
    soon = str(date.fromisoformat(today) + timedelta(days=3))
    if sale.state == "in examination" and day > 8:
        for event in ("examined", "cleared"):
            piece.step(event)
        piece.step("offered", amount="9900")
    elif sale.state in ("offered", "held") and rng.random() < 0.28:
        piece.step("held", party=f"buyer {day}", until=soon)
    elif sale.state == "offered" and (rng.random() < 0.03 or day > 110):
        piece.step("agreed", party="buyer B", amount=str(sale.asked))
    elif sale.state == "agreed" and sale.agreed == sale.cleared:
        piece.step("paid")
    elif sale.state in ("paid", "in return window") and rng.random() < 0.01 and not sale.refunded:
        piece.step("refund", amount="75.25")
    if sale.state in ("offered", "held") and rng.random() < 0.25:
        party = f"enquirer {day}"
        piece.said("asked", party=party, text="How is it?")
        if rng.random() < 0.3:
            piece.said("viewing set", party=party, on=soon)


def gone_for_a_reason(piece: Piece, now: dict[str, Due]) -> int:
    """Assert that what vanished was lifted, and what was left is a day later; how many were met."""
    met = 0
    for id_, before in piece.before.items():
        if id_ in now and now[id_].day == before.day:
            assert now[id_].late == before.late + 1, (id_, before, now[id_])
            continue
        reasons = LIFTED_BY[before.kind]
        assert reasons & piece.done or "" in reasons, (before, piece.done)
        met += 1
    return met


def test_a_year_of_twenty_consignments_run_by_the_calendar_alone() -> None:
    pieces = [begun(number) for number in range(PIECES)]
    met = late = 0
    kinds: set[str] = set()
    for day in range(DAYS):
        on = FIRST + timedelta(days=day)
        for piece in [one for one in pieces if not one.over(on)]:
            found = {one.id: one for one in due_of(piece.state, TREE, TERMS, on)}
            met += gone_for_a_reason(piece, found)
            piece.before, piece.done = found, set()
            piece.at = f"{on}T09:00:00Z"
            for one in found.values():
                assert one.late == (on - date.fromisoformat(one.day)).days
                late += one.late > 0
                if one.late >= 0 and one.kind != "term" and piece.rng.random() < 0.7:
                    if piece.done:  # what was done this morning may have lifted it
                        still = {two.id for two in due_of(piece.state, TREE, TERMS, on)}
                        if one.id not in still:
                            continue
                    act(piece, one, str(on))
                    kinds.add(one.kind)
            chance(piece, str(on), day)
    events = sum(one.entries for one in pieces)
    assert events > 2_000, events
    assert met > 1_000
    assert late > 300
    assert kinds >= set(LIFTED_BY) - {"term", "hold", "revaluation", "follow-up"}, kinds
    states = {standing_of(one.state).state for one in pieces}
    assert states == {"settled"}, states
    (whole,) = accounts([move for one in pieces for move in movements_of(one.state)])
    assert whole.held == "0.00"
    told = [Decimal(x) for x in (whole.received, whole.refunded, whole.paid_out, whole.earned)]
    assert told[0] == sum(told[1:])
    last = FIRST + timedelta(days=DAYS)
    open_ = [one for piece in pieces for one in due_of(piece.state, TREE, TERMS, last)]
    assert all(one.kind == "follow-up" for one in open_ if one.late > 7), open_
