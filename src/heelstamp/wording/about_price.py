"""Sentences about prices: three figures apart, what is not known, and what they rest on.

Nothing here computes; amounts come as text with their currency. A range always stands with the
number of sales and the date behind it (rule 13).
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import NO_GROUNDS, Grounds, Statement, listed, write
from heelstamp.wording.strength import percent

FEW = 12
"""Comparables below which the priors are named."""


def sales_told(sold: int, asking: int) -> str:
    """Write how many sales stand behind a figure: ``20 sales and 4 asking prices``."""
    told = [f"{sold} sale" + ("" if sold == 1 else "s")]
    if asking:
        told.append(f"{asking} asking price" + ("" if asking == 1 else "s"))
    return listed(told)


def market_range(*, low: str, high: str, median: str, date: str, sales: str) -> Statement:
    """Give the market range with its date and sales."""
    return write(
        "price market",
        "price:market",
        NO_GROUNDS,
        low=low,
        high=high,
        median=median,
        date=date,
        sales=sales,
    )


def insured(*, value: str, basis: str) -> Statement:
    """Give the insured value and what it rests on."""
    return write("price insured", "price:insured", NO_GROUNDS, value=value, basis=basis)


def net(*, price: str, basis: str, net: str) -> Statement:
    """Give the net at one price."""
    return write("price net", "price:net", NO_GROUNDS, price=price, basis=basis, net=net)


def no_net() -> Statement:
    """Say that there are no terms."""
    return write("price no net", "price:net", NO_GROUNDS)


def unexamined(
    *, part: str, label: str, share: float, money: str, basis: str, examined: bool
) -> Statement:
    """Tell what it costs, or would have cost, that something was not examined."""
    return write(
        "price seen" if examined else "price unseen",
        f"price:unseen:{part}",
        Grounds(not_examined=(label,)),
        label=label,
        share=percent(share),
        money=money,
        basis=basis,
    )


def open_part(*, part: str, money: str, states: Sequence[str]) -> Statement:
    """Tell what the open state of a part does to the price."""
    return write(
        "price open part",
        f"price:open:{part}",
        Grounds(not_examined=(part,)),
        part=part,
        money=money,
        states=listed(list(states)),
    )


def asking_apart(*, asking: int, count: int, share: str, low: str, high: str) -> Statement:
    """Tell how far asking prices lie above those paid."""
    return write(
        "price asking",
        "price:asking",
        NO_GROUNDS,
        asking=str(asking),
        count=str(count),
        share=share,
        low=low,
        high=high,
    )


def outlier(*, id_: str, price: str, month: str, times: float, weight: float) -> Statement:
    """Flag a comparable that fits badly."""
    return write(
        "price outlier",
        f"price:outlier:{id_}",
        NO_GROUNDS,
        id=quoted(id_),
        price=price,
        month=month,
        times=f"{abs(times):.1f}",
        weight=percent(weight),
    )


def left_out(*, id_: str, reason: str) -> Statement:
    """Say why a comparable is not used."""
    return write(
        "price left out", f"price:left out:{id_}", NO_GROUNDS, id=quoted(id_), reason=reason
    )


def repeat(*, one: str, other: str) -> Statement:
    """Name two rows that may be one sale."""
    return write(
        "price repeat", f"price:repeat:{one}", NO_GROUNDS, one=quoted(one), other=quoted(other)
    )


def only_asked() -> Statement:
    """Say that no sale stands behind the estimate."""
    return write("price only asked", "price:only asked", NO_GROUNDS)


def few(*, count: int) -> Statement:
    """Say that the comparables are few."""
    return write("price few", "price:few", NO_GROUNDS, count=str(count))


def ahead(*, month: str) -> Statement:
    """Say that the market of late is not seen."""
    return write("price ahead", "price:ahead", NO_GROUNDS, month=month)


def index_ends(*, month: str) -> Statement:
    """Say where the consumer index ends."""
    return write("price index ends", "price:index", NO_GROUNDS, month=month)


def undated() -> Statement:
    """Say that no date stands."""
    return write("price undated", "price:undated", NO_GROUNDS)


def not_appraisal() -> Statement:
    """Say what the figures are not."""
    return write("price not appraisal", "price:not appraisal", NO_GROUNDS)


def interest_in(*, commission: str, price: str) -> Statement:
    """Disclose what the shop earns."""
    return write("price interest", "price:interest", NO_GROUNDS, commission=commission, price=price)


def sales_added(*, count: int, market: str, sold: int, asking: int, total: int) -> Statement:
    """Tell what was added to the comparables."""
    return write(
        "sales added",
        "sales:added",
        NO_GROUNDS,
        count=str(count),
        market=market,
        sold=str(sold),
        asking=str(asking),
        total=str(total),
    )
