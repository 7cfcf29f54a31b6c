"""Proposed looks in another order: by evidence, by money, or by both.

What may be done stays before what may not, whatever it would bring. By evidence is the order of the
plan: the least invasive worth doing first. By money the largest expected fall of what is open about
the price comes first, that of the seller's regret deciding between equals. By both the places in
either order are added; equal sums keep the order of evidence.
"""

from __future__ import annotations

from typing import Literal, get_args

from heelstamp.casework.inspections.option import Option, Plan
from heelstamp.errors import InputError

Order = Literal["evidence", "money", "both"]
ORDERS: tuple[Order, ...] = get_args(Order)
_RANK = ("do", "optional", "stop")


def ordered(plan: Plan, by: str) -> list[Option]:
    """The options of a plan in the order *by*.

    Raises
    ------
    InputError
        No such order, or an order by money where no money figure was weighed.
    """
    if by not in ORDERS:
        raise InputError("no such order", received=by, remedy=f"One of {', '.join(ORDERS)}.")
    if by == "evidence" or not plan.options:
        return list(plan.options)
    if any(one.gain.money is None for one in plan.options):
        raise InputError(
            "no price to order by",
            received=by,
            remedy="Import comparables: heelstamp sales import TABLE --as CHRONOLOGY.",
        )
    by_money = sorted(plan.options, key=_money)
    if by == "money":
        return by_money
    place = {one.inspection: number for number, one in enumerate(plan.options)}
    for number, one in enumerate(by_money):
        place[one.inspection] += number
    return sorted(plan.options, key=lambda one: (_RANK.index(one.advice), place[one.inspection]))


def _money(one: Option) -> tuple[int, float, float, float]:
    money, regret = one.gain.money or 0.0, one.gain.regret or 0.0
    return _RANK.index(one.advice), -round(money, 2), -round(regret, 2), one.minutes
