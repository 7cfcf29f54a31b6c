"""How long a sale may take: learned from the shop's own offers, sold and unsold alike."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import exp, log
from typing import TYPE_CHECKING

from heelstamp.casework.sale.blocks import standing_of
from heelstamp.casework.sale.listings import offers_of
from heelstamp.catalogue import SaleStep
from heelstamp.errors import HeelstampError, InputError
from heelstamp.wording import about_sale as about

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from heelstamp.shop.opened import OpenShop
    from heelstamp.valuation.time_to_sell import Foreseen, Learned, Listing

WEEKS_TOLD = (4, 13, 26)
LEAST_VALUE = 1.0
"""A value is at least this, in money, however much an act takes from it."""
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


@dataclass(frozen=True)
class Ground:
    """What a time is foreseen from.

    Attributes
    ----------
    learned, listings, left_out
        From the shop's own offers, those offers, and how many could not be learned from.
    log_prices, asked
        Asking price of every week from the first offer on, and the one now in words.
    value, doubt
        Log of the value, and its standard deviation.
    week, past
        Week of the year of the first offer, and weeks on offer so far.
    """

    learned: Learned
    listings: tuple[Listing, ...]
    left_out: int
    log_prices: tuple[float, ...]
    asked: str
    value: float
    doubt: float
    week: float
    past: int

    def foreseen(self, rng: np.random.Generator, gain: float = 0.0) -> Foreseen:
        """Foresee the sale; *gain*, in money, is added to the value and not to the price."""
        from heelstamp.valuation.time_to_sell import foresee

        return foresee(
            self.learned,
            self.log_prices,
            value=log(max(exp(self.value) + gain, LEAST_VALUE)),
            doubt=self.doubt,
            week=self.week,
            past=self.past,
            rng=rng,
        )


def selling_time(shop: OpenShop, tag: str, today: str, price: str = "") -> SellingTime:
    """Foresee when an instrument is sold: at *price*, else as asked now or first by its terms.

    Raises
    ------
    InputError
        No price is known, or no value: it has too few comparables.
    """
    import numpy as np

    rng = np.random.default_rng(SEED)
    ground = ground_of(shop, tag, today, price, rng)
    found = ground.foreseen(rng)
    learned = ground.learned
    chances = tuple((weeks, found.chance(weeks)) for weeks in WEEKS_TOLD)
    low, high = found.weeks(0.1), found.weeks(0.9)
    return SellingTime(
        price=ground.asked,
        currency=shop.currency,
        chances=chances,
        low=low,
        high=high,
        sold=learned.sold,
        unsold=learned.unsold,
        left_out=ground.left_out,
        approximate=learned.approximate,
        sentences=_sentences(chances, low, high, learned, ground.left_out, waited=ground.past),
    )


def days_earlier(
    shop: OpenShop, tag: str, today: str, gains: Sequence[Sequence[float]]
) -> tuple[tuple[float, ...] | None, ...]:
    """How many days earlier half of such pieces would be sold, were the value higher.

    The asking price stays what it is: who asks the gain besides sells no earlier by it.

    Parameters
    ----------
    gains
        For each act some changes of the value, in money.

    Returns
    -------
    Days for each change, or None where either time lies beyond what is foreseen.

    Raises
    ------
    InputError
        As `selling_time`.
    """
    import numpy as np

    ground = ground_of(shop, tag, today, "", np.random.default_rng(SEED))

    def half(gain: float) -> float | None:
        return ground.foreseen(np.random.default_rng(SEED), gain).weeks(0.5)

    now = half(0.0)
    found: list[tuple[float, ...] | None] = []
    for row in gains:
        weeks = [half(one) for one in row]
        known = [one for one in weeks if one is not None]
        whole = now is not None and len(known) == len(weeks)
        found.append(tuple(7 * (now - one) for one in known) if whole and now is not None else None)
    return tuple(found)


def ground_of(shop: OpenShop, tag: str, today: str, price: str, rng: np.random.Generator) -> Ground:
    """What is known of an instrument's sale, and what the shop's offers taught; see `Ground`.

    Raises
    ------
    InputError
        As `selling_time`.
    """
    from heelstamp.shop.sale import value_now
    from heelstamp.valuation.time_to_sell import learn

    state = shop.subject(tag).state
    listings, left_out = _listings(shop, but=tag, today=today)
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
    return Ground(
        learned, tuple(listings), left_out, (*before, *path), asked, value, doubt, week, past
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
