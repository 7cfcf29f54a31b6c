"""The table of a sale: what may follow what, the queue of holds, and sums that never go astray.

Ten thousand random orders are held against a second account of the rules, written as plain
conditions on counters that know nothing of the table.
"""

import random
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from heelstamp.catalogue.bodies.sale import SaleStep, check_sale
from heelstamp.catalogue.sale import EVENTS, STATES, STEPS, diagram, follow, on_day, sale_of
from heelstamp.errors import ConflictError, InputError

DOCS = Path(__file__).parents[3] / "docs" / "methods" / "custody.md"


def steps(*told: tuple[str, str, dict[str, Any]]) -> list[SaleStep]:
    found = []
    for number, (event, day, more) in enumerate(told):
        fields = {"id": f"s{number}", **more}
        if "amount" in fields:
            fields["currency"] = "USD"
        found.append(SaleStep(event=event, day=day, **fields))  # type: ignore[arg-type]
    return found


OFFERED = (
    ("examined", "2026-01-02", {}),
    ("cleared", "2026-01-03", {}),
    ("offered", "2026-01-04", {"amount": "9900"}),
)
AGREED = (*OFFERED, ("agreed", "2026-01-10", {"party": "buyer B", "amount": "9100"}))
DEPOSIT = {"of": "deposit", "means": "transfer", "amount": "1000", "id": "p1"}
PAID = (
    *AGREED,
    ("payment", "2026-01-10", DEPOSIT),
    ("funds cleared", "2026-01-12", {"names": "p1"}),
    ("payment", "2026-01-13", {"of": "balance", "means": "cash", "amount": "8100"}),
    ("paid", "2026-01-13", {}),
)
WINDOW = (
    *PAID,
    ("handed over", "2026-01-14", {}),
    ("window opened", "2026-01-16", {"until": "2026-01-30"}),
)
FINAL = (*WINDOW, ("final", "2026-01-31", {"amount": "7113"}))


def test_the_usual_way_ends_settled_with_nothing_left() -> None:
    whole = (*FINAL, ("payout", "2026-02-05", {"amount": "7113"}), ("settled", "2026-02-05", {}))
    found = sale_of(steps(*whole))
    assert (found.state, found.received, found.paid_out, found.due) == (
        "settled",
        Decimal(9100),
        Decimal(7113),
        Decimal(7113),
    )


REFUSED = [
    ((*FINAL, ("settled", "2026-02-01", {})), "the consignor is not paid"),
    (
        (
            *FINAL,
            ("payout", "2026-02-01", {"amount": "7113"}),
            ("payout", "2026-02-01", {"amount": "7113"}),
        ),
        "more than is due",
    ),
    ((*WINDOW, ("final", "2026-01-30", {"amount": "7113"})), "the return window is open"),
    ((*WINDOW, ("final", "2026-01-31", {"amount": "9100.01"})), "more is due to the consignor"),
    ((*WINDOW, ("payout", "2026-01-31", {"amount": "1"})), "cannot follow"),
    ((*WINDOW, ("refund", "2026-01-20", {"amount": "9100.01"})), "more than was paid"),
    ((*WINDOW, ("refund", "2026-01-15", {"amount": "1"})), "before the one that it follows"),
    ((*AGREED, ("paid", "2026-01-11", {})), "not here in cleared funds"),
    (
        (*AGREED, ("payment", "2026-01-10", DEPOSIT), ("refund", "2026-01-11", {"amount": "1000"})),
        "more than was paid and cleared",
    ),
    (
        (*AGREED, ("payment", "2026-01-10", DEPOSIT), ("fell through", "2026-01-11", {})),
        "the buyer's money is still here",
    ),
    ((*PAID, ("payment", "2026-01-14", {**DEPOSIT, "id": "p9"})), "cannot follow"),
    ((*OFFERED, ("price cut", "2026-02-01", {"amount": "9900"})), "does not lower"),
    ((*OFFERED[:1], ("offered", "2026-01-04", {"amount": "9900"})), "cannot follow"),
    ((("agreed", "2026-01-04", {"party": "b", "amount": "1"}),), "cannot follow"),
]


@pytest.mark.parametrize(("order", "told"), REFUSED)
def test_what_must_not_happen_is_refused(order: Any, told: str) -> None:
    sale_of(steps(*order[:-1]))
    with pytest.raises(ConflictError, match=told):
        sale_of(steps(*order))


def test_holds_make_a_queue_and_lapse() -> None:
    held = (
        *OFFERED,
        ("held", "2026-01-05", {"party": "buyer A", "until": "2026-01-12", "id": "a"}),
        ("held", "2026-01-05", {"party": "buyer B", "until": "2026-01-20", "id": "b"}),
    )
    queue = sale_of(steps(*held)).queue
    assert [one.party for one in queue] == ["buyer A", "buyer B"]
    sale = ("agreed", "2026-01-10", {"party": "buyer B", "amount": "9100"})
    with pytest.raises(ConflictError, match="buyer A holds it until 2026-01-12"):
        sale_of(steps(*held, sale))
    later = ("agreed", "2026-01-13", {"party": "buyer B", "amount": "9100"})
    assert sale_of(steps(*held, later)).buyer == "buyer B"
    ended = ("hold ended", "2026-01-06", {"names": "a"})
    assert sale_of(steps(*held, ended, sale)).state == "agreed"
    again = ("held", "2026-01-06", {"party": "buyer A", "until": "2026-02-01"})
    with pytest.raises(ConflictError, match="holds already"):
        sale_of(steps(*held, again))
    standing = sale_of(steps(*held))
    assert on_day(standing, "2026-01-21").state == "offered"
    cut = ("price cut", "2026-01-21", {"amount": "9000"})
    assert sale_of(steps(*held, cut)).state == "offered"


def test_nothing_is_handed_over_to_a_buyer_who_has_all_the_money_back() -> None:
    paid = WINDOW[: [one[0] for one in WINDOW].index("handed over")]
    back = ("refund", "2026-01-14", {"amount": "9100"})
    with pytest.raises(ConflictError, match="given all the money back"):
        sale_of(steps(*paid, back, ("handed over", "2026-01-14", {})))
    part = ("refund", "2026-01-14", {"amount": "100"})
    assert sale_of(steps(*paid, part, ("handed over", "2026-01-14", {}))).state == "handed over"


def test_a_return_gives_everything_back_before_it_is_offered_anew() -> None:
    returned = (*WINDOW, ("returned", "2026-01-20", {}))
    with pytest.raises(ConflictError, match="money is still here"):
        sale_of(steps(*returned, ("examined", "2026-01-21", {})))
    again = sale_of(
        steps(
            *returned, ("refund", "2026-01-21", {"amount": "9100"}), ("examined", "2026-01-22", {})
        )
    )
    assert (again.state, again.payments, again.refunded) == ("examined", (), Decimal(0))


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"event": "held", "day": "2026-01-05", "party": "b"}, "does not say its until"),
        ({"event": "examined", "day": "2026-02-30"}, "not a day"),
        (
            {"event": "held", "day": "2026-01-05", "party": "b", "until": "2026-01-04"},
            "end before it begins",
        ),
    ],
)
def test_a_step_that_says_too_little_is_refused(body: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        check_sale(SaleStep(id="x", **body), "sale x")


class Counters:
    """The rules once more, as a clerk would keep them: what is where, and no table."""

    def __init__(self) -> None:
        self.have = set[str]()
        self.day = ""
        self.price = self.came = self.cleared = self.back = self.due = self.out = Decimal(0)
        self.open: dict[str, Decimal] = {}
        self.asked = Decimal(0)
        self.queue: list[tuple[str, str, str]] = []
        self.until = ""

    def allows(self, one: SaleStep) -> bool:
        """Whether a step may happen now."""
        if one.day < self.day:
            return False
        queue = [row for row in self.queue if row[2] >= one.day]
        sum_ = Decimal(one.amount or 0)
        have, event = self.have, one.event
        offered, agreed = "offered" in have, "agreed" in have
        held = offered and not agreed and bool(queue)
        unpaid = agreed and "paid" not in have
        window = "window opened" in have and "final" not in have
        stays = "returned" not in have
        rules = {
            "override": True,
            "examined": not have or "withdrawn" in have or (not stays and self.came == self.back),
            "cleared": have == {"examined"},
            "offered": have == {"examined", "cleared"},
            "price cut": offered and not agreed and not held and sum_ < self.asked,
            "held": offered and not agreed and one.party not in [row[1] for row in queue],
            "hold ended": held and one.names in [row[0] for row in queue],
            "agreed": offered and not agreed and (not queue or queue[0][1] == one.party),
            "payment": unpaid and self.came - self.back + sum_ <= self.price,
            "funds cleared": unpaid and one.names in self.open,
            "paid": unpaid and self.cleared - self.back == self.price,
            "fell through": unpaid and self.came == self.back,
            "handed over": "paid" in have
            and "handed over" not in have
            and stays
            and self.cleared > self.back,
            "window opened": "handed over" in have and "window opened" not in have and stays,
            "returned": "paid" in have and "final" not in have and stays,
            "refund": agreed
            and "final" not in have
            and not ("handed over" in have and "window opened" not in have and stays)
            and sum_ <= self.cleared - self.back,
            "final": window and stays and one.day > self.until and sum_ <= self.cleared - self.back,
            "payout": "final" in have and "settled" not in have and self.out + sum_ <= self.due,
            "settled": "final" in have and "settled" not in have and self.out == self.due,
            "withdrawn": "withdrawn" not in have and not agreed,
        }
        return rules[event] and ("withdrawn" not in have or event in ("examined", "override"))

    def take(self, one: SaleStep) -> None:  # noqa: C901, PLR0912 - one line an event
        """Let a step happen."""
        self.day = one.day
        self.queue = [row for row in self.queue if row[2] >= one.day]
        sum_ = Decimal(one.amount or 0)
        match one.event:
            case "examined":
                self.__init__()  # type: ignore[misc]
                self.day, self.have = one.day, {"examined"}
            case "offered" | "price cut":
                self.asked = sum_
                self.have.add("offered")
            case "held":
                self.queue.append((one.id, one.party, one.until or ""))
            case "hold ended":
                self.queue = [row for row in self.queue if row[0] != one.names]
            case "agreed":
                self.queue, self.price = [], sum_
                self.came = self.cleared = self.back = Decimal(0)
                self.open = {}
                self.have.add("agreed")
            case "payment":
                self.came += sum_
                if one.means == "cash":
                    self.cleared += sum_
                else:
                    self.open[one.id] = sum_
            case "funds cleared":
                self.cleared += self.open.pop(one.names or "")
            case "fell through":
                self.have.remove("agreed")
            case "refund":
                self.back += sum_
            case "final":
                self.due = sum_
                self.have.add("final")
            case "payout":
                self.out += sum_
            case "window opened":
                self.until = one.until or ""
                self.have.add("window opened")
            case "override":
                pass
            case other:
                self.have.add(other)


SUMS = {"agreed": ("100",), "payment": ("100", "100", "60"), "final": ("40",), "payout": ("40",)}


def drawn(number: int, chance: random.Random, ids: list[str], day: int) -> SaleStep:
    """Draw a step that says all it needs."""
    event = chance.choice([*EVENTS, "payment", "funds cleared", "held", "agreed"])
    later = chance.choice([0, 0, 0, 1, 3, 8, -1])
    told = f"2026-{1 + (day + later) // 28:02d}-{1 + (day + later) % 28:02d}"
    ends = f"2026-{1 + (day + 6) // 28:02d}-{1 + (day + 6) % 28:02d}"
    return SaleStep(
        id=f"s{number}",
        event=event,  # type: ignore[arg-type]
        day=told,
        party=chance.choice(["buyer A", "buyer B"]),
        amount=chance.choice(SUMS.get(event, ("100", "60", "40"))),
        currency="USD",
        of="deposit",
        means=chance.choice(["cash", "transfer"]),  # type: ignore[arg-type]
        until=ends,
        names=chance.choice(ids) if ids else "s0",
        lets="cleared",
        note="so",
    )


def test_no_forbidden_step_in_ten_thousand_random_orders() -> None:
    chance = random.Random(20261201)
    reached = set[str]()
    for _ in range(10_000):
        clerk, taken, day = Counters(), list[SaleStep](), 1
        refused = 0
        standing = sale_of(())
        while refused < 10 and len(taken) < 30:
            one = drawn(len(taken) + refused * 100, chance, [row.id for row in taken[-3:]], day)
            # most of the way the next step that can follow, so that the far states are reached
            after = [event for before, event in STEPS if before == standing.state]
            if after and chance.random() < 0.8:
                event = chance.choice(after)
                more = {"event": event, "amount": chance.choice(SUMS.get(event, ("100", "60")))}
                one = replace(one, **more)
            allowed = clerk.allows(one)
            try:
                standing = follow(standing, one)
            except ConflictError:
                assert not allowed, (standing.state, one)
                refused += 1
                continue
            assert allowed, (standing.state, one)
            clerk.take(one)
            taken.append(one)
            day = 28 * (int(one.day[5:7]) - 1) + int(one.day[8:]) - 1
            reached.add(standing.state)
            assert standing.refunded + standing.paid_out <= standing.received
        assert sale_of(taken) == standing
    assert reached >= set(STATES) - {"in examination"}


def test_the_documented_diagram_is_of_the_table() -> None:
    assert diagram() in DOCS.read_text("utf-8")
