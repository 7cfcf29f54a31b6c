"""The calendar of an instrument: what is due, on which day and why.

Derived from journal, terms and the rules below alone: nothing is typed for it. What has been done
is no longer in it; what is late stays, and says so. A pure function of the folded dossier, its
terms and a day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import msgspec

from heelstamp.casework.appraisal.agreed import INSURED
from heelstamp.casework.appraisal.consignment import Terms
from heelstamp.casework.intake import acts_asked
from heelstamp.casework.panel import panel_log
from heelstamp.casework.sale.blocks import standing_of
from heelstamp.casework.sale.enquiries import enquirers_of
from heelstamp.catalogue import DossierState, Enquiry, PartsTree, Price, TitleSearch
from heelstamp.catalogue.sale import SaleStanding, on_day
from heelstamp.errors import InputError
from heelstamp.valuation.money import Money
from heelstamp.wording import about_due as about

Kind = Literal[
    "hit",
    "consent",
    "rest",
    "revaluation",
    "search",
    "price cut",
    "term",
    "hold",
    "deposit",
    "balance",
    "funds",
    "collection",
    "delivery",
    "return window",
    "payout",
    "settling",
    "refund",
    "cover",
    "panel",
    "follow-up",
    "enquiry",
    "viewing",
    "after the viewing",
    "names",
    "premises",
    "backup",
]


@dataclass(frozen=True, slots=True)
class Rules:
    """Days after which something is due; all common practice, no source.

    Attributes
    ----------
    consent
        After receipt, to ask the owner.
    rest
        After strings were fitted, to read the relief again.
    revaluation, follow_up
        After the insured value was agreed; after the instrument was handed over.
    search
        After which a search no longer tells much.
    deposit, balance
        After the price was agreed.
    funds
        After a payment, to see whether it cleared.
    collection, delivery
        After it was paid; after it was handed over.
    cover
        Before cover ends.
    panel
        Between photographs of the panel.
    enquiry
        After something was asked.
    """

    consent: int = 2
    rest: int = 2
    revaluation: int = 365
    search: int = 90
    deposit: int = 3
    balance: int = 14
    funds: int = 5
    collection: int = 7
    delivery: int = 5
    refund: int = 3
    cover: int = 14
    panel: int = 7
    follow_up: int = 365
    enquiry: int = 2


RULES = Rules()
GONE = frozenset({"with the buyer", "back with the owner", "not received"})
"""States of custody in which it is not the shop's to watch."""

FOLLOWED_UP = "follow-up"
"""What a decision is about that tells that the buyer was asked."""


class Due(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that is due.

    Attributes
    ----------
    id
        The same on every day until it is done: tag, kind and what it is about.
    day
        On which it is due.
    late
        Days since then; below nought while it is to come.
    screen
        Key of the page where it is done; empty for the shop's own.
    """

    id: str
    tag: str
    kind: Kind
    day: str
    late: int
    told: str
    screen: str


def due_of(
    state: DossierState, tree: PartsTree, terms: Terms | None, today: date, *, rules: Rules = RULES
) -> list[Due]:
    """List what is due of an instrument, the earliest first; what is to come is in it too."""
    found = list(_Calendar(state, tree, terms, today, rules).rows())
    return sorted(found, key=lambda one: (one.day, one.kind, one.id))


def backup_due(last: str, today: date, *, every: int) -> Due:
    """The next backup of the shop; *last* is empty where none is known."""
    day = date.fromisoformat(last) + timedelta(days=every) if last else today
    told, late = about.backup.say(last=last), (today - day).days
    return Due(
        id="backup", tag="", kind="backup", day=day.isoformat(), late=late, told=told, screen=""
    )


@dataclass(frozen=True)
class _Calendar:
    state: DossierState
    tree: PartsTree
    terms: Terms | None
    today: date
    rules: Rules

    def rows(self) -> Iterator[Due]:
        """Everything that is due, in no order."""
        sale = on_day(standing_of(self.state), self.today.isoformat())
        yield from self._hits()
        here = self.state.custody_state not in GONE
        if here:
            yield from self._bench()
            yield from self._term(sale)
        yield from self._queue(sale)
        yield from self._money(sale)
        yield from self._afterwards(sale)
        yield from self._panel()
        yield from self._enquiries()

    def _row(self, kind: Kind, day: date, told: str, screen: str, what: str = "") -> Due:
        tag = self.state.instrument.tag
        return Due(
            id="/".join(one for one in (tag, kind, what) if one),
            tag=tag,
            kind=kind,
            day=day.isoformat(),
            late=(self.today - day).days,
            told=told,
            screen=screen,
        )

    def _day_of(self, id_: str) -> date:
        at = self.state.entered[id_].at
        return date.fromisoformat(at[:10]) if at else self.today

    def _received(self) -> date | None:
        if self.terms is not None and self.terms.received is not None:
            return self.terms.received
        taken = [one.id for one in self.state.custody.values() if one.event == "received"]
        return self._day_of(taken[-1]) if taken else None

    def _hits(self) -> Iterator[Due]:
        last = {one.register.casefold(): one for one in self.state.of(TitleSearch).values()}
        for register, one in last.items():
            if one.hit:
                day = date.fromisoformat(one.day) if one.day else self._day_of(one.id)
                told = about.hit.say(register=one.register)
                yield self._row("hit", day, told, "sale", register)

    def _bench(self) -> Iterator[Due]:
        state, rules = self.state, self.rules
        received = self._received() or self.today
        acts = [a for a in acts_asked(state, self.tree) if state.leave(a).standing == "not asked"]
        if acts:
            day = received + timedelta(days=rules.consent)
            yield self._row("consent", day, about.consent.say(acts=acts), "intake")
        fitted = [one.id for one in state.treatments.values() if one.act == "fit strings"]
        if fitted:
            then = self._day_of(fitted[-1])
            day = then + timedelta(days=rules.rest)
            read = [one.id for one in state.measurements.values() if one.quantity == "relief"]
            if not any(self._day_of(one) >= day for one in read):
                told = about.rest.say(day=then.isoformat(), days=rules.rest)
                yield self._row("rest", day, told, "setup")
        value = state.last(Price, of=INSURED)
        if value is not None:
            then = self._day_of(value.id)
            told = about.revaluation.say(day=then.isoformat())
            day = then + timedelta(days=rules.revaluation)
            yield self._row("revaluation", day, told, "money")
        for one in {
            one.register.casefold(): one for one in state.of(TitleSearch).values()
        }.values():
            then = date.fromisoformat(one.day) if one.day else self._day_of(one.id)
            told = about.search.say(register=one.register, day=then.isoformat(), days=rules.search)
            day = then + timedelta(days=rules.search)
            yield self._row("search", day, told, "money", one.register.casefold())

    def _term(self, sale: SaleStanding) -> Iterator[Due]:
        received, terms = self._received(), self.terms
        if terms is None:
            return
        if received is not None and sale.agreed is None:
            days = terms.document.term_days
            told = about.term.say(days=days, received=received.isoformat())
            yield self._row("term", received + timedelta(days=days), told, "money")
        if terms.document.cover_until:
            until = date.fromisoformat(terms.document.cover_until)
            told = about.cover.say(until=until.isoformat())
            yield self._row("cover", until - timedelta(days=self.rules.cover), told, "money")
        if sale.state == "offered" and sale.asked is not None:
            for step in terms.schedule(date.fromisoformat(sale.offered)):
                if step.price.amount < sale.asked:
                    told = about.price_cut.say(price=str(step.price), first=sale.offered)
                    yield self._row("price cut", step.day, told, "sale")
                    break

    def _queue(self, sale: SaleStanding) -> Iterator[Due]:
        for place, one in enumerate(sale.queue, start=1):
            told = about.hold.say(party=one.party, place=place)
            yield self._row("hold", date.fromisoformat(one.until), told, "sale", one.id)

    def _money(self, sale: SaleStanding) -> Iterator[Due]:
        rules, currency = self.rules, sale.currency
        since = date.fromisoformat(sale.since) if sale.since else self.today
        if sale.state == "agreed" and sale.agreed is not None:
            left = sale.agreed - sale.received + sale.refunded
            if not sale.payments:
                told = about.deposit.say(party=sale.buyer)
                yield self._row("deposit", since + timedelta(days=rules.deposit), told, "sale")
            if left > 0:
                told = about.balance.say(party=sale.buyer, left=str(Money.of(left, currency)))
                yield self._row("balance", since + timedelta(days=rules.balance), told, "sale")
        for paid in sale.payments:
            if paid.cleared is None:
                told = about.funds.say(
                    sum_=str(Money.of(paid.sum, currency)), means=paid.means, day=paid.day
                )
                day = date.fromisoformat(paid.day) + timedelta(days=rules.funds)
                yield self._row("funds", day, told, "sale", paid.id)
        back = sale.received - sale.refunded
        if sale.state == "returned" and back:
            told = about.refund.say(left=str(Money.of(back, currency)))
            yield self._row("refund", since + timedelta(days=rules.refund), told, "sale")
        if sale.state == "final":
            left = (sale.due or 0) - sale.paid_out
            pay = 14 if self.terms is None else self.terms.document.pay_days
            if left:
                told = about.payout.say(left=str(Money.of(left, currency)), final=since.isoformat())
                yield self._row("payout", since + timedelta(days=pay), told, "sale")
            else:
                yield self._row("settling", since, about.settling.say(), "sale")

    def _afterwards(self, sale: SaleStanding) -> Iterator[Due]:
        rules = self.rules
        since = date.fromisoformat(sale.since) if sale.since else self.today
        if sale.state == "paid":
            told = about.collection.say(party=sale.buyer)
            yield self._row("collection", since + timedelta(days=rules.collection), told, "sale")
        if sale.state == "handed over":
            day = since + timedelta(days=rules.delivery)
            yield self._row("delivery", day, about.delivery.say(), "sale")
        if sale.state == "in return window":
            day = date.fromisoformat(sale.window) + timedelta(days=1)
            yield self._row("return window", day, about.window.say(), "sale")
        asked = any(one.about == FOLLOWED_UP for one in self.state.decisions.values())
        left = [one.id for one in self.state.custody.values() if one.event == "to buyer"]
        if self.state.custody_state == "with the buyer" and left and not asked:
            then = self._day_of(left[-1])
            told = about.follow_up.say(day=then.isoformat())
            yield self._row("follow-up", then + timedelta(days=rules.follow_up), told, "questions")

    def _enquiries(self) -> Iterator[Due]:
        for one in enquirers_of(self.state.of(Enquiry).values()):
            if one.ended:
                continue
            for id_, day, _ in one.open:
                told = about.enquiry.say(party=one.party, day=day)
                on = date.fromisoformat(day) + timedelta(days=self.rules.enquiry)
                yield self._row("enquiry", on, told, "enquiries", id_)
            if one.viewing:
                told = about.viewing.say(party=one.party)
                day_ = date.fromisoformat(one.viewing)
                yield self._row("viewing", day_, told, "enquiries", one.party)
            for seen in one.viewed:
                if not seen.after:
                    told = about.after_viewing.say(party=one.party, day=seen.day)
                    day_ = date.fromisoformat(seen.day)
                    yield self._row("after the viewing", day_, told, "enquiries", seen.id)

    def _panel(self) -> Iterator[Due]:
        try:
            log = panel_log(self.state)
        except InputError:
            return
        then = date.fromisoformat(log.days[-1].at[:10])
        told = about.panel.say(day=then.isoformat())
        yield self._row("panel", then + timedelta(days=self.rules.panel), told, "uv-lamp")
