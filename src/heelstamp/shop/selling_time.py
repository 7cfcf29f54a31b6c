"""How long a sale may take: learned from the shop's own offers, sold and unsold alike."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import log
from typing import TYPE_CHECKING

from heelstamp.casework.sale.blocks import standing_of
from heelstamp.casework.sale.listings import offers_of
from heelstamp.catalogue import SaleStep
from heelstamp.errors import HeelstampError, InputError
from heelstamp.wording import about_sale as about

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop
    from heelstamp.valuation.time_to_sell import Learned, Listing

WEEKS_TOLD = (4, 13, 26)
SEED = 20261112
"""Of the draws: the same record gives the same figures."""


@dataclass(frozen=True)
class SellingTime:
    """When a sale may come.

    Attributes
    ----------
    chances
        Weeks from now, and the chance of a sale by then.
    low, high
        Weeks within which eight of ten such pieces are sold; None beyond ten years.
    sold, unsold
        Own offers that were learned from.
    left_out
        Own offers for which no value was kept on their first day.
    sentences
        The same in words, the chances first.
    """

    price: str
    currency: str
    chances: tuple[tuple[int, float], ...]
    low: float | None
    high: float | None
    sold: int
    unsold: int
    left_out: int
    approximate: bool
    sentences: tuple[str, ...]


def selling_time(shop: OpenShop, tag: str, today: str, price: str = "") -> SellingTime:
    """Foresee when an instrument is sold: at *price*, else as asked now or first by its terms.

    Raises
    ------
    InputError
        No price is known, or no value: it has too few comparables.
    """
    import numpy as np

    from heelstamp.shop.sale import value_now
    from heelstamp.valuation.time_to_sell import foresee, learn

    state = shop.subject(tag).state
    listings, left_out = _listings(shop, but=tag, today=today)
    rng = np.random.default_rng(SEED)
    learned = learn(listings, rng)
    offers = offers_of(state, today)
    going = offers[-1] if offers and offers[-1].open else None
    first = [one for one in state.of(SaleStep).values() if one.event == "offered"]
    kept = first[-1] if going is not None else None
    if kept is not None and kept.value is not None and kept.doubt is not None:
        value, doubt, day = log(float(kept.value)), kept.doubt, kept.day
    else:
        now = value_now(shop, tag)
        if not now:
            raise InputError(
                "without a value nothing can be said of the time",
                where=tag,
                remedy="Three sales or asking prices of this model give one: add them under Money.",
            )
        value, doubt, day = log(float(now["value"])), now["doubt"], today
    past = 0 if going is None or going.listing is None else len(going.listing.log_prices)
    before = () if going is None or going.listing is None else going.listing.log_prices
    path, asked = _path(shop, tag, price, day, today)
    week = (date.fromisoformat(day).timetuple().tm_yday - 1) / 7
    found = foresee(
        learned, [*before, *path], value=value, doubt=doubt, week=week, past=past, rng=rng
    )
    chances = tuple((weeks, found.chance(weeks)) for weeks in WEEKS_TOLD)
    low, high = found.weeks(0.1), found.weeks(0.9)
    return SellingTime(
        price=asked,
        currency=shop.currency,
        chances=chances,
        low=low,
        high=high,
        sold=learned.sold,
        unsold=learned.unsold,
        left_out=left_out,
        approximate=learned.approximate,
        sentences=_sentences(chances, low, high, learned, left_out, waited=past),
    )


def _listings(shop: OpenShop, *, but: str, today: str) -> tuple[list[Listing], int]:
    found, left_out = [], 0
    for tag in sorted(shop.journals.tags()):
        if tag == but:
            continue
        try:
            state, _ = shop.standing(tag)
        except HeelstampError:
            continue  # its own page says what is wrong with it
        for one in offers_of(state, today):
            if one.listing is not None:
                found.append(one.listing)
            else:
                left_out += 1
    return found, left_out


def _path(shop: OpenShop, tag: str, price: str, day: str, today: str) -> tuple[list[float], str]:
    """Log asking price of each week from now on, and the price that it begins with."""
    from heelstamp.shop.terms import terms_for
    from heelstamp.valuation.money import Money

    terms = terms_for(shop, tag)
    standing = standing_of(shop.subject(tag).state)
    if price.strip():
        bare = price.strip().removesuffix(shop.currency).strip()
        asked = Money.parse(bare, shop.currency, where="price")
        if asked.minor <= 0:
            raise InputError("a price is above nought", where="price", received=price)
        return [log(float(asked.amount))], str(asked)
    schedule = [] if terms is None else list(terms.schedule(date.fromisoformat(day)))
    now = standing.asked
    if now is None and terms is not None and terms.start is not None:
        now = terms.start.amount
    if now is None:
        raise InputError(
            "no price is asked and none is agreed", where=tag, remedy="Give a price, or terms."
        )
    prices = []
    begin = date.fromisoformat(today).toordinal()
    last = 1 + max([0, *(one.day.toordinal() - begin for one in schedule)]) // 7
    for week in range(last + 1):
        due = [one.price.amount for one in schedule if one.day.toordinal() <= begin + 7 * week]
        prices.append(log(float(min([now, *due]))))
    return prices, str(Money.of(now, shop.currency))


def _sentences(
    chances: tuple[tuple[int, float], ...],
    low: float | None,
    high: float | None,
    learned: Learned,
    left_out: int,
    *,
    waited: int,
) -> tuple[str, ...]:
    told = [about.time_chances.say(chances=chances)]
    told.append(about.time_range.say(low=low, high=high))
    if waited:
        told.append(about.time_waited.say(weeks=waited))
    if learned.sold + learned.unsold == 0:
        told.append(about.time_prior.say())
    else:
        told.append(about.time_learned.say(sold=learned.sold, unsold=learned.unsold))
    if left_out:
        told.append(about.time_left_out.say(count=left_out))
    if learned.approximate:
        told.append(about.time_approximate.say())
    return tuple(told)
