"""Ten thousand random orders of steps: none that the trade forbids is ever taken.

The second bookkeeping below is in whole cents and sets, shares no code with the table, and judges
what was taken by rules of its own (common practice of the trade, no source).
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from heelstamp.catalogue import SaleStep
from heelstamp.catalogue.sale import EVENTS, SaleStanding, follow, possible_steps
from heelstamp.errors import HeelstampError

ORDERS, LENGTH = 10_000, 22
FIRST = date(2026, 1, 1).toordinal()
PARTIES = ("buyer A", "buyer B", "buyer C")
STOPPING = frozenset({"withdrawn", "fell through", "returned", "refund"})
DAYS = [(date.fromordinal(FIRST + n)).isoformat() for n in range(400)]


@dataclass
class Books:
    """What a person with a cash book would know."""

    at: int = 0
    offered: bool = False
    holds: list[tuple[str, str, int]] = field(default_factory=list)  # id, who, last day
    price: int | None = None
    came: dict[str, int] = field(default_factory=dict)
    here: set[str] = field(default_factory=set)  # payments whose funds cleared
    back: int = 0
    out: int = 0
    due: int | None = None
    gone: bool = False  # with the buyer
    window: int | None = None
    over: bool = False

    def judge(self, step: SaleStep, day: int) -> None:  # noqa: C901, PLR0912
        """Assert that this step may be taken, then book it."""
        assert day >= self.at
        assert not self.over or step.event == "override"
        self.at = day
        cents = round(float(step.amount) * 100) if step.amount else 0
        cleared = sum(self.came[one] for one in self.here) - self.back
        held = [one for one in self.holds if one[2] >= day]
        event = step.event
        if event == "offered":
            assert self.price is None
            self.offered = True
        elif event == "price cut":
            assert self.offered
            assert self.price is None
        elif event == "held":
            assert self.offered
            assert self.price is None
            assert step.party not in {who for _, who, _ in held}
            self.holds = [*held, (step.id, step.party, day + 5)]
        elif event == "hold ended":
            assert step.names in {one[0] for one in held}
            self.holds = [one for one in held if one[0] != step.names]
        elif event == "agreed":
            assert self.offered
            assert self.price is None
            assert not held or held[0][1] == step.party
            self.price, self.holds = cents, []
            self.came, self.here, self.back, self.out, self.due = {}, set(), 0, 0, None
        elif event == "payment":
            assert self.price is not None
            assert sum(self.came.values()) - self.back + cents <= self.price
            self.came[step.id] = cents
            if step.means == "cash":
                self.here.add(step.id)
        elif event == "funds cleared":
            assert step.names in self.came
            assert step.names not in self.here
            self.here.add(str(step.names))
        elif event == "paid":
            assert cleared == self.price
        elif event == "refund":
            assert 0 < cents <= cleared
            assert self.due is None
            self.back += cents
        elif event == "fell through":
            assert sum(self.came.values()) == self.back
            self.price = None
        elif event == "handed over":
            assert self.price is not None
            assert cleared > 0
            self.gone = True
        elif event == "window opened":
            assert self.gone
            self.window = day + 3
        elif event == "returned":
            self.gone, self.window = False, None
        elif event == "examined":
            assert sum(self.came.values()) == self.back
            self.price, self.offered, self.holds = None, False, []
            self.came, self.here, self.back = {}, set(), 0
        elif event == "withdrawn":
            assert self.price is None
        elif event == "final":
            assert self.gone
            assert self.window is not None
            assert day > self.window
            assert cents <= cleared
            self.due = cents
        elif event == "payout":
            assert self.due is not None
            assert self.out + cents <= self.due
            self.out += cents
        elif event == "settled":
            assert self.out == self.due
            self.over = True


def some_step(rng: random.Random, number: int, now: SaleStanding, day: int) -> SaleStep:
    """A step, most often one that may follow, with sums and names that may be right or wrong."""
    going_on = [one for one in possible_steps(now) if one not in STOPPING or rng.random() < 0.2]
    event = rng.choice(going_on if going_on and rng.random() < 0.7 else EVENTS)
    left = float((now.agreed or 0) - now.received + now.refunded)
    due = float((now.due or 0) - now.paid_out)
    likely = {"payment": left, "payout": due, "refund": float(now.cleared), "final": due or 500.0}
    sum_ = likely.get(event) if rng.random() < 0.7 else None
    amount = f"{sum_ if sum_ and sum_ > 0 else rng.choice((0.01, 100, 500, 900, 1000)):.2f}"
    named = [one.id for one in now.payments if not one.cleared] or ["nothing"]
    if event == "hold ended":
        named = [one.id for one in now.queue] or ["nothing"]
    told: dict[str, Any] = {
        "amount": amount,
        "currency": "EUR" if rng.random() < 0.98 else "USD",
        "party": rng.choice(PARTIES),
        "names": rng.choice(named),
        "means": rng.choice(("cash", "transfer")),
        "of": "balance",
        "until": DAYS[day + (5 if event == "held" else 3)],
        "lets": "offered",
        "note": "so",
    }
    return SaleStep(id=f"s{number}", event=event, day=DAYS[day], **told)  # type: ignore[arg-type]


def test_no_forbidden_step_is_taken_in_ten_thousand_random_orders() -> None:
    rng = random.Random(20261201)
    taken = refused = 0
    ends: dict[str, int] = {}
    for _ in range(ORDERS):
        now, books, day = SaleStanding(), Books(), 0
        for number in range(LENGTH):
            day = max(0, day + rng.choice((0, 0, 1, 1, 4, -1)))
            step = some_step(rng, number, now, day)
            try:
                after = follow(now, step)
            except HeelstampError:
                refused += 1
                continue
            books.judge(step, day)
            now, taken = after, taken + 1
        ends[now.state] = ends.get(now.state, 0) + 1
        held = sum(books.came.values()) - books.back - books.out
        assert held >= 0
        if now.state == "settled":
            assert books.out == books.due
    assert taken > 50_000
    assert refused > 50_000
    assert len(ends) > 8, ends
    assert ends.get("settled", 0) > 0, ends
