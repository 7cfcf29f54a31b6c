"""Prices: three figures apart, what is not known, and what they rest on.

Nothing here computes; amounts come as text with their currency. Rule 13: a value is estimated on a
date from a number of sales, and nothing is legal advice. Rule 14: what the shop earns is told. The
three figures are named whole and never stand for each other.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.wording.about_coat import FINISH_NOUNS
from heelstamp.wording.about_parts import STATE_NOUNS
from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import counted, listed, sentence
from heelstamp.wording.strength import percent

FEW = 12
"""Comparables below which the priors are named."""


VERY_FEW = 5
"""Comparables below which the range is told to be wide, and why."""


def covering(share: float, *, month: str, step: str) -> str:
    """Write what a proposed insured value is."""
    return (
        f"proposed: {percent(share)} of such instruments would be asked at no more in {month}, "
        f"rounded up to {step}"
    )


def days_after_offer(days: int) -> str:
    """Write when an asking price begins, before anything was offered."""
    return f"{days} days after the first offer" if days else "the day of the first offer"


def sales_words(sold: int, asking: int, unsold: int = 0) -> str:
    """Write how many sales stand behind a figure: ``20 sales and 4 asking prices``."""
    told = [counted(sold, "sale")]
    if asking:
        told.append(counted(asking, "asking price"))
    if unsold:
        told.append(counted(unsold, "offer") + " that found no buyer")
    return listed(told)


@sentence("price market", "opinion", 13)
def market_range(
    *, low: str, high: str, median: str, date: str, sold: int, asking: int, unsold: int = 0
) -> str:
    return (
        f"Market: {low} to {high} (90 %), middle {median}, estimated on {date} from "
        f"{sales_words(sold, asking, unsold)}."
    )


@sentence("price insured", "opinion", 13)
def insured(*, value: str, basis: str) -> str:
    return f"Insured, as retail replacement: {value}, {basis}."


@sentence("price net", "opinion", 13)
def net(*, price: str, basis: str, net: str) -> str:
    return f"Net to the consignor at {price}{basis}: {net}."


@sentence("price no net", "opinion", 13)
def no_net() -> str:
    return "Net to the consignor: not worked out, for no terms of consignment were given."


@sentence("price unseen", "inferred", 13)
def unseen(*, label: str, share: float, money: str, basis: str) -> str:
    """What it costs that something was not examined."""
    return (
        f"Not examined: {label}. Buyers are taken to pay {percent(share)} less for that, about "
        f"{money} ({basis})."
    )


@sentence("price seen", "inferred", 13)
def seen(*, label: str, share: float, money: str, basis: str) -> str:
    """What it would have cost had something not been examined."""
    return (
        f"Had {label} not been examined, about {money} less ({percent(share)}) would be expected "
        f"({basis})."
    )


@sentence("price open part", "inferred", 13)
def open_part(
    *, part: str, money: str, states: Mapping[str, tuple[str, float]], finish: bool
) -> str:
    """What the open state of a part does to the price: middle price and probability by state."""
    nouns = FINISH_NOUNS if finish else STATE_NOUNS
    told = [f"{nouns.get(one, one)} {median} ({percent(p)})" for one, (median, p) in states.items()]
    return f"What is open about the {part} moves the middle price by about {money}: {listed(told)}."


@sentence("price effect and middles", "inferred", 13)
def effect_and_middles(*, label: str, amount: float, money: str, gap: str) -> str:
    """Why an effect is small beside the gap of the two middle prices of a part."""
    return (
        f"Among what moves the price, \u201c{label}\u201d counts with {percent(amount)} of itself, "
        f"the chance of it: {money}. The middle prices are those of either case known for sure, "
        f"and lie about {gap} apart; both figures say the same."
    )


@sentence("price unsold", "measured", 13)
def unsold_apart(*, unsold: int, shares: tuple[float, float, float]) -> str:
    """How far prices that found no buyer lie above those paid: mean and 90 % interval, shares."""
    share, low, high = (f"{100 * one:+.0f} %" for one in shares)
    return (
        f"{counted(unsold, 'offer')} found no buyer, kept apart too: such a price lies {share} "
        f"above paid ({low} to {high}, 90 %)."
    )


@sentence("price asking", "measured", 13)
def asking_apart(*, asking: int, count: int, shares: tuple[float, float, float]) -> str:
    """How far asking prices lie above those paid: mean and 90 % interval, shares."""
    share, low, high = (f"{100 * one:+.0f} %" for one in shares)
    return (
        f"{asking} of {count} comparables are asking prices, kept apart: asked lies {share} above "
        f"paid ({low} to {high}, 90 %)."
    )


@sentence("price outlier", "measured", 13)
def outlier(*, id_: str, price: str, month: str, times: float, weight: float) -> str:
    return (
        f"Comparable {quoted(id_)}, {price} in {month}, lies {abs(times):.1f} standard deviations "
        f"from what the others lead to; it is kept and counts {percent(weight)} of an ordinary "
        "sale."
    )


@sentence("price left out", "measured", 13)
def left_out(*, id_: str, reason: str) -> str:
    return f"Comparable {quoted(id_)} is not used: {reason}."


@sentence("price repeat", "measured", 13)
def repeat(*, one: str, other: str) -> str:
    return (
        f"Comparables {quoted(one)} and {quoted(other)} may be one sale told twice; both are used."
    )


@sentence("price only asked", "opinion", 13)
def only_asked() -> str:
    return "No comparable is a sale: how far what is paid lies below them is only believed."


@sentence("price few", "opinion", 13)
def few(*, count: int) -> str:
    if count < VERY_FEW:
        return (
            f"Only {count} comparables: the range is wide because so few prices cannot show how "
            "far like instruments lie apart; that is taken from what was assumed before any sale. "
            "A range for orientation, no ground to agree a price on alone."
        )
    return f"{count} comparables are few: the range leans on what was assumed before any sale."


@sentence("price ahead", "opinion", 13)
def ahead(*, month: str) -> str:
    """That the market since the last comparable is not seen."""
    return (
        f"The last comparable is of {month}; the market since then is not seen, and the range is "
        "wider for it."
    )


@sentence("price index ends", "measured", 13)
def index_ends(*, month: str) -> str:
    return f"The consumer index used ends {month}; later months are taken at its last value."


@sentence("price undated", "opinion", 13)
def undated() -> str:
    return (
        "No completion date is given for the whole instrument; the price rests on what is likely "
        "of its parts."
    )


@sentence("price not appraisal", "opinion", 13)
def not_appraisal() -> str:
    return (
        "An estimate from comparable sales, not an appraisal under any licence; tax and law are "
        "deferred to those who may advise on them."
    )


@sentence("price interest", "opinion", 14)
def interest_in(*, commission: str, price: str) -> str:
    return f"The shop earns {commission} of a sale at {price}."


@sentence("sale corrected", "measured", 15)
def sale_corrected(*, id_: str, reason: str) -> str:
    return f"Comparable {quoted(id_)} is corrected ({quoted(reason)}); what it said before is kept."


@sentence("sale withdrawn", "measured", 15)
def sale_withdrawn(*, id_: str, reason: str) -> str:
    return (
        f"Comparable {quoted(id_)} is not used from now on ({quoted(reason)}); what it said before "
        "is kept."
    )


@sentence("sales added", "measured", 13)
def sales_added(
    *, count: int, market: str, sold: int, asking: int, total: int, unsold: int = 0
) -> str:
    beside = f", {unsold} unsold" if unsold else ""
    return (
        f"{count} added to the comparables of {market}: {sold} sold, {asking} asking{beside}; "
        f"there are now {total}."
    )
