"""How far a sale has come: one table of states and events, and the sums it rests on.

Three rules: every step of a sale is in `STEPS`, nothing else in the program decides what may follow
what; no step lies before the day of the one before it; no sum leaves the shop that did not come in
and clear. Holds make a queue: the first in it may buy, one whose last day is past has left it. Sums
are exact decimals of one currency. The words are the trade's (common practice, no
source); the diagram in the documentation is generated from this table. What stands outside the
dossier (lists of stolen instruments, terms, protected materials) is looked at in `casework.sale`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from heelstamp.catalogue.bodies.sale import SaleStep
from heelstamp.errors import ConflictError, InputError

IN_EXAMINATION = "in examination"
NOTHING = Decimal(0)
ANYWHERE = ("override",)
"""Events that leave the state as it is, in every state."""

STEPS: dict[tuple[str, str], str] = {
    (IN_EXAMINATION, "examined"): "examined",
    (IN_EXAMINATION, "withdrawn"): "withdrawn",
    ("examined", "cleared"): "cleared",
    ("examined", "withdrawn"): "withdrawn",
    ("cleared", "offered"): "offered",
    ("cleared", "withdrawn"): "withdrawn",
    ("offered", "price cut"): "offered",
    ("offered", "held"): "held",
    ("offered", "agreed"): "agreed",
    ("offered", "withdrawn"): "withdrawn",
    ("held", "held"): "held",
    ("held", "hold ended"): "held",  # offered where nobody is left in the queue
    ("held", "agreed"): "agreed",
    ("held", "withdrawn"): "withdrawn",
    ("agreed", "payment"): "agreed",
    ("agreed", "funds cleared"): "agreed",
    ("agreed", "refund"): "agreed",
    ("agreed", "fell through"): "offered",
    ("agreed", "paid"): "paid",
    ("paid", "handed over"): "handed over",
    ("paid", "refund"): "paid",
    ("paid", "returned"): "returned",
    ("handed over", "window opened"): "in return window",
    ("handed over", "returned"): "returned",
    ("in return window", "refund"): "in return window",
    ("in return window", "returned"): "returned",
    ("in return window", "final"): "final",
    ("returned", "refund"): "returned",
    ("returned", "examined"): "examined",
    ("final", "payout"): "final",
    ("final", "settled"): "settled",
    ("withdrawn", "examined"): "examined",
}
EVENTS: tuple[str, ...] = tuple(dict.fromkeys((*(event for _, event in STEPS), *ANYWHERE)))
STATES: tuple[str, ...] = tuple(
    dict.fromkeys(state for (before, _), after in STEPS.items() for state in (before, after))
)

SOLD_STATES = frozenset({"agreed", "paid", "handed over", "in return window", "final", "settled"})
"""States in which a price is agreed with a buyer and neither fell through nor came back."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A place in the queue: id of the entry, who, and the last day."""

    id: str
    party: str
    until: str


@dataclass(frozen=True, slots=True)
class Payment:
    """A sum that came in, and the day its funds cleared; None while they have not."""

    id: str
    sum: Decimal
    of: str
    means: str
    day: str
    cleared: str | None


@dataclass(frozen=True, slots=True)
class SaleStanding:
    """Where a sale stands.

    Attributes
    ----------
    state
        One of `STATES`.
    day
        Of the last step; empty before any.
    since
        Day on which the state began.
    offered
        Day of the first offer.
    asked, agreed
        Price asked now and price agreed.
    buyer
        By role.
    queue
        Holds, the first one's turn first.
    payments
        Of the sale that is going on.
    refunded, due, paid_out
        Sums given back, due to the consignor, and paid to them.
    window
        Last day of the return window.
    overrides
        Steps that the owner of the shop lets pass, with the reason.
    """

    state: str = IN_EXAMINATION
    day: str = ""
    since: str = ""
    currency: str = ""
    offered: str = ""
    asked: Decimal | None = None
    agreed: Decimal | None = None
    buyer: str = ""
    queue: tuple[Hold, ...] = ()
    payments: tuple[Payment, ...] = ()
    refunded: Decimal = NOTHING
    due: Decimal | None = None
    paid_out: Decimal = NOTHING
    window: str = ""
    overrides: tuple[tuple[str, str], ...] = ()

    @property
    def received(self) -> Decimal:
        """What came in."""
        return sum((one.sum for one in self.payments), NOTHING)

    @property
    def cleared(self) -> Decimal:
        """What came in and cleared, less what was given back."""
        return sum((one.sum for one in self.payments if one.cleared), NOTHING) - self.refunded


def sale_of(steps: Iterable[SaleStep], *, where: str = "") -> SaleStanding:
    """Follow the steps of a sale.

    Raises
    ------
    ConflictError
        A step cannot follow, lies before its cause, or a sum is not there.
    InputError
        A sum in another currency, or one that is nothing.
    """
    standing = SaleStanding()
    for step in steps:
        at = f'{where}, sale step "{step.id}"'.removeprefix(", ")
        standing = follow(standing, step, where=at)
    return standing


def on_day(standing: SaleStanding, day: str) -> SaleStanding:
    """Where a sale stands on a day: holds whose last day is past have left the queue."""
    queue = tuple(one for one in standing.queue if one.until >= day)
    if queue == standing.queue and (queue or standing.state != "held"):
        return standing
    state = "offered" if standing.state == "held" and not queue else standing.state
    return replace(standing, queue=queue, state=state)


def possible_steps(standing: SaleStanding) -> tuple[str, ...]:
    """List the events that can follow, *override* aside."""
    return tuple(event for before, event in STEPS if before == standing.state)


def follow(before: SaleStanding, step: SaleStep, *, where: str = "") -> SaleStanding:
    """Where a sale stands after one more step; raises as `sale_of` does."""
    if step.day < before.day:
        raise _refuse(
            "a step before the one that it follows",
            where,
            f"{step.day}, after {before.day}",
            "Give the day on which it happened, or correct the step before.",
        )
    now = on_day(before, step.day)
    after = now.state if step.event in ANYWHERE else STEPS.get((now.state, step.event))
    if after is None:
        raise _refuse(
            f'"{step.event}" cannot follow while the sale is {now.state}',
            where,
            step.event,
            "Possible now: " + ", ".join(possible_steps(now)) + ".",
        )
    since = now.since if after == now.state else step.day
    moved = replace(now, state=after, day=step.day, since=since)
    take = _TAKE.get(step.event)
    return moved if take is None else take(moved, step, _sum(step, now, where), where)


def _sum(step: SaleStep, now: SaleStanding, where: str) -> Decimal:
    if step.amount is None:
        return NOTHING
    if now.currency and step.currency != now.currency:
        raise InputError(
            "a sale is in one currency",
            where=where,
            received=f"{step.currency} and {now.currency}",
            remedy=f"Give it in {now.currency}.",
        )
    found = Decimal(step.amount)
    if found <= 0 and step.event != "final":
        raise InputError("a sum is above nought", where=where, received=step.amount)
    return found


def _refuse(what: str, where: str, received: str, remedy: str) -> ConflictError:
    return ConflictError(what, where=where, received=received, remedy=remedy)


def _offered(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del where
    return replace(now, asked=sum_, currency=step.currency or "", offered=step.day)


def _cut(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    if now.asked is not None and sum_ >= now.asked:
        raise _refuse(
            "a cut that does not lower the price",
            where,
            step.amount or "",
            "Withdraw and offer anew to ask for more.",
        )
    return replace(now, asked=sum_)


def _held(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del sum_
    party = step.party.strip()
    if any(one.party == party for one in now.queue):
        raise _refuse("this party holds already", where, party, "One place each in the queue.")
    return replace(now, queue=(*now.queue, Hold(step.id, party, step.until or "")))


def _hold_ended(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del sum_
    left = tuple(one for one in now.queue if one.id != step.names)
    if len(left) == len(now.queue):
        known = ", ".join(one.id for one in now.queue)
        raise _refuse("no such hold stands", where, step.names or "", f"Holds: {known}.")
    return replace(now, queue=left, state="held" if left else "offered")


def _agreed(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    party = step.party.strip()
    if now.queue and now.queue[0].party != party:
        first = now.queue[0]
        raise _refuse(
            f"{first.party} holds it until {first.until}",
            where,
            party,
            "End that hold first, or sell to who holds it.",
        )
    return replace(
        now,
        agreed=sum_,
        buyer=party,
        queue=(),
        payments=(),
        refunded=NOTHING,
        due=None,
        paid_out=NOTHING,
    )


def _payment(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    if now.received - now.refunded + sum_ > (now.agreed or NOTHING):
        raise _refuse(
            "more than was agreed",
            where,
            step.amount or "",
            "Correct the sum, or agree the price anew.",
        )
    paid = Payment(step.id, sum_, step.of or "", step.means or "", step.day, None)
    if step.means == "cash":
        paid = replace(paid, cleared=step.day)
    return replace(now, payments=(*now.payments, paid))


def _cleared(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del sum_
    found = [one for one in now.payments if one.id == step.names and one.cleared is None]
    if not found:
        open_ = ", ".join(one.id for one in now.payments if one.cleared is None) or "none"
        raise _refuse("no such payment is open", where, step.names or "", f"Open: {open_}.")
    paid = tuple(
        replace(one, cleared=step.day) if one.id == step.names else one for one in now.payments
    )
    return replace(now, payments=paid)


def _fell_through(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del step, sum_
    left = now.received - now.refunded
    if left:
        raise _refuse(
            "the buyer's money is still here",
            where,
            f"{left} {now.currency}",
            "Refund it first; withdraw a payment whose funds never came.",
        )
    return replace(now, agreed=None, buyer="", payments=(), refunded=NOTHING)


def _paid(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del step, sum_
    if now.cleared != now.agreed:
        raise _refuse(
            "the price is not here in cleared funds",
            where,
            f"{now.cleared} of {now.agreed} {now.currency}",
            "Enter the balance, and the day on which its funds cleared.",
        )
    return now


def _refund(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    if sum_ > now.cleared:
        raise _refuse(
            "more than was paid and cleared",
            where,
            step.amount or "",
            f"At most {now.cleared} {now.currency}; a payment whose funds never came is withdrawn.",
        )
    return replace(now, refunded=now.refunded + sum_)


def _handed_over(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del step, sum_
    if now.cleared <= NOTHING:
        raise _refuse(
            "the buyer was given all the money back",
            where,
            f"{now.cleared} of {now.agreed} {now.currency}",
            "Enter it as returned, then offer it anew.",
        )
    return now


def _window(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del sum_, where
    return replace(now, window=step.until or "")


def _examined(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del sum_
    left = now.received - now.refunded
    if left:
        raise _refuse(
            "the buyer's money is still here",
            where,
            f"{left}",
            "Refund it before it is offered anew.",
        )
    return SaleStanding(
        state="examined",
        day=step.day,
        since=step.day,
        currency=now.currency,
        overrides=now.overrides,
    )


def _final(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    if step.day <= now.window:
        raise _refuse(
            "the return window is open",
            where,
            f"{step.day}, until {now.window}",
            "A sale is final on the day after it.",
        )
    if sum_ > now.cleared:
        raise _refuse(
            "more is due to the consignor than came in", where, step.amount or "", "Look at terms."
        )
    return replace(now, due=sum_)


def _payout(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    due = now.due or NOTHING
    if now.paid_out + sum_ > due:
        raise _refuse(
            "more than is due to the consignor",
            where,
            step.amount or "",
            f"Paid out already: {now.paid_out} of {due} {now.currency}.",
        )
    return replace(now, paid_out=now.paid_out + sum_)


def _settled(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del step, sum_
    if now.paid_out != now.due:
        raise _refuse(
            "the consignor is not paid",
            where,
            f"{now.paid_out} of {now.due} {now.currency}",
            "Enter the payout first.",
        )
    return now


def _override(now: SaleStanding, step: SaleStep, sum_: Decimal, where: str) -> SaleStanding:
    del sum_, where
    return replace(now, overrides=(*now.overrides, (step.lets, step.note)))


_Take = Callable[[SaleStanding, SaleStep, Decimal, str], SaleStanding]
_TAKE: dict[str, _Take] = {
    "offered": _offered,
    "price cut": _cut,
    "held": _held,
    "hold ended": _hold_ended,
    "agreed": _agreed,
    "payment": _payment,
    "funds cleared": _cleared,
    "fell through": _fell_through,
    "paid": _paid,
    "refund": _refund,
    "handed over": _handed_over,
    "window opened": _window,
    "examined": _examined,
    "final": _final,
    "payout": _payout,
    "settled": _settled,
    "override": _override,
}


def diagram() -> str:
    """Draw the table as a Mermaid state diagram."""
    names = {state: state.replace(" ", "_") for state in STATES}
    lines = ["stateDiagram-v2"]
    lines += [f"    {names[state]} : {state}" for state in STATES]
    lines.append(f"    [*] --> {names[IN_EXAMINATION]}")
    lines += [
        f"    {names[before]} --> {names[after]} : {event}"
        for (before, event), after in STEPS.items()
    ]
    return "\n".join(lines) + "\n"
