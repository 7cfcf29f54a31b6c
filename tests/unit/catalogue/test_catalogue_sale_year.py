"""A year of twenty sales, kept once more in whole cents: every account ends at nought.

Common practice of the trade, no source; the second bookkeeping shares no code with the first.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal

from heelstamp.casework.sale.account import Movement, accounts
from heelstamp.catalogue import SaleStep
from heelstamp.catalogue.sale import SaleStanding, follow

FIRST = date(2026, 1, 1)


def one_sale(rng: random.Random, tag: str, day: date) -> list[SaleStep]:
    """A whole sale with holds, cuts, a payment in parts, at times one that falls through."""
    steps: list[SaleStep] = []
    price, at = Decimal(rng.randrange(2_000, 12_000)), day

    def add(event: str, wait: int, **told: object) -> str:
        nonlocal at
        at += timedelta(wait)
        id_ = f"{tag}-{len(steps)}"
        steps.append(SaleStep(id=id_, event=event, day=at.isoformat(), **told))  # type: ignore[arg-type]
        return id_

    def money(sum_: Decimal) -> dict[str, object]:
        return {"amount": str(sum_), "currency": "EUR"}

    for event in ("examined", "cleared"):
        add(event, 1)
    add("offered", 1, **money(price))
    for turn in range(rng.randrange(30, 42)):
        until = (at + timedelta(2)).isoformat()
        hold = add("held", 1, party=f"buyer {turn}", until=until)
        add("hold ended", 1, names=hold)
        if turn % 9 == 8:
            price -= Decimal("50.10")
            add("price cut", 0, **money(price))
    if rng.random() < 0.4:
        add("agreed", 1, party="buyer X", **money(price))
        deposit = add("payment", 0, of="deposit", means="transfer", **money(price / 10))
        add("funds cleared", 2, names=deposit)
        add("refund", 3, **money(price / 10))
        add("fell through", 0)
    add("agreed", 1, party="buyer Y", **money(price))
    first = (price / 3).quantize(Decimal("0.01"))
    for of, part in (("deposit", first), ("balance", price - first)):
        add("funds cleared", 2, names=add("payment", 1, of=of, means="transfer", **money(part)))
    add("paid", 0)
    add("handed over", 1)
    add("window opened", 0, until=(at + timedelta(14)).isoformat())
    back = Decimal("75.25") if rng.random() < 0.3 else Decimal(0)
    if back:
        add("refund", 5, **money(back))
    due = ((price - back) * Decimal("0.81")).quantize(Decimal("0.01"))
    add("final", 15, **money(due))
    add("payout", 3, **money(due))
    add("settled", 0)
    return steps


def test_a_year_of_twenty_consignments_ends_with_every_account_at_nought() -> None:
    rng, events = random.Random(7), 0
    moved: list[Movement] = []
    earned = 0
    for number in range(20):
        tag = f"Y-{number:02d}"
        steps = one_sale(rng, tag, FIRST + timedelta(rng.randrange(120)))
        now, held, got, back = SaleStanding(), Decimal(0), 0, 0
        for step in steps:
            now = follow(now, step)
            sum_ = Decimal(step.amount or 0)
            cents = int(sum_ * 100)
            told = ("EUR", step.id)
            if step.event == "payment":
                got, held = got + cents, held + sum_
                moved.append(Movement(step.day, tag, "payment", "in", sum_, *told))
            elif step.event == "refund":
                back, held = back + cents, held - sum_
                moved.append(Movement(step.day, tag, "refund", "out", sum_, *told))
            elif step.event == "final":
                earned += got - back - cents
                moved.append(Movement(step.day, tag, "earned", "earned", held - sum_, *told))
                held = sum_
            elif step.event == "payout":
                held -= sum_
                moved.append(Movement(step.day, tag, "payout", "out", sum_, *told))
        assert (now.state, held) == ("settled", Decimal(0))
        events += len(steps)
    assert 1_600 <= events <= 2_400
    (whole,) = accounts(moved)
    assert (whole.before, whole.held) == ("0.00", "0.00")
    assert int(Decimal(whole.earned) * 100) == earned
    # any cut of the year in two leaves what was held at the end of the first in the second
    for cut in ("2026-03-31", "2026-06-30", "2026-09-30"):
        after = (date.fromisoformat(cut) + timedelta(1)).isoformat()
        (early,), (late,) = accounts(moved, last=cut), accounts(moved, first=after)
        assert early.held == late.before
        assert late.held == "0.00"
        parts = Decimal(early.earned) + Decimal(late.earned)
        assert parts == Decimal(whole.earned)
