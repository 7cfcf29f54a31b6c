"""A better path of asking prices beside the one that is agreed: a choice, and a new agreement.

The figures are those of `heelstamp.valuation.price_path`, from the shop's own offers as in
`heelstamp.shop.selling_time`. Nothing changes by looking: `choose_path` writes terms with that
path, which nobody has signed yet.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import log
from typing import TYPE_CHECKING, Any

from heelstamp.errors import ConflictError, InputError
from heelstamp.wording import about_price_path as about

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.shop.opened import OpenShop
    from heelstamp.valuation.money import Money
    from heelstamp.valuation.price_path import Choice

OPEN_STATES = frozenset({"in examination", "examined", "cleared", "offered", "held"})
"""States of a sale in which a price may still be chosen."""
REPLACED = frozenset({"cut", "path"})
"""What of the terms a path stands in place of."""
LEAST_GAIN = 0.01
"""Share of the value below which what is to be expected of another path is not worth a choice
(ours)."""


@dataclass(frozen=True)
class BetterPath:
    """Another path of prices, or that there is none worth a choice.

    Attributes
    ----------
    offered
        Whether it is worth a choice.
    prices
        Weeks from now, and the price from then on; only where it falls.
    agreed_net, net
        What the agreed path and this one net on average, as worked out, in money.
    to_expect
        The part of the gain that is to be expected; see `heelstamp.valuation.price_path.KEPT`.
    worse
        Share of single pieces that net less by it.
    sentences
        The same in words, with the two ranges, and what it rests on.
    """

    offered: bool
    prices: tuple[tuple[int, str], ...]
    agreed_net: float
    net: float
    to_expect: float
    worse: float
    same: float
    gain_known: tuple[float, float]
    agreed_piece: tuple[float, float]
    piece: tuple[float, float]
    unsold: str
    currency: str
    sentences: tuple[str, ...]


def better_path(shop: OpenShop, tag: str, today: str) -> BetterPath:
    """Look for a path of prices that leaves the consignor more on average.

    Raises
    ------
    ConflictError
        A price is agreed, or it is not for sale.
    InputError
        No terms, no first price, or neither a floor nor a worth of the piece unsold; no value.
    """
    from heelstamp.valuation.price_path import LEAST, best_path

    found = _looked(shop, tag, today)
    if not found.permitted:
        raise InputError(
            "no price is left between the floor and what is asked",
            where=tag,
            remedy=f"A path has prices down to {100 * LEAST:.0f} % of the value, and the floor.",
        )
    choice = best_path(
        found.learned,
        found.piece,
        found.worth,
        permitted=found.permitted,
        agreed=found.agreed,
        ratios=found.ratios,
        rng=found.rng,
    )
    return _told(found, choice)


def choose_path(shop: OpenShop, tag: str, today: str, *, base: str, id_: str, by: str) -> None:
    """Keep terms with the better path in place of their cuts: a new agreement, to be signed.

    Parameters
    ----------
    base
        SHA-256 of the terms beside which it was shown.

    Raises
    ------
    ConflictError
        No path is worth a choice, or the terms were changed since.
    """
    from heelstamp.casework.sale.blocks import standing_of
    from heelstamp.documents import parse_document
    from heelstamp.shop.terms import keep_terms, terms_here
    from heelstamp.shop.toml_revision import revised
    from heelstamp.valuation.money import Money

    if id_ in shop.subject(tag).state.entered:
        return
    found = better_path(shop, tag, today)
    held = terms_here(shop, tag)
    if not found.offered:
        raise ConflictError(
            "no other path of prices is worth a choice", where=tag, remedy=found.sentences[0]
        )
    sale = standing_of(shop.subject(tag).state)
    begun = date.fromisoformat(sale.offered or today)
    since = (date.fromisoformat(today) - begun).days
    document = parse_document(held.text, "terms of consignment", "toml")
    wanted: dict[str, Any] = {key: one for key, one in document.items() if key not in REPLACED}
    rows = [(since + 7 * weeks, _money(price, found.currency)) for weeks, price in found.prices]
    start = _money(str(document["start"]), found.currency)
    if not sale.offered:
        start = rows.pop(0)[1]
    elif sale.asked is not None:
        start = max(start, Money.of(sale.asked, found.currency))
    rows = [(days, price) for days, price in rows if price < start]
    wanted["start"] = _bare(start)
    if rows:
        wanted["path"] = [{"after_days": days, "price": _bare(one)} for days, one in rows]
    keep_terms(shop, tag, revised(held.text, wanted), base=base, whole_shop=False, id_=id_, by=by)


def _money(price: str, currency: str) -> Money:
    from heelstamp.valuation.money import Money

    return Money.parse(price.removesuffix(currency).strip(), currency)


def _bare(price: Money) -> str:
    return str(price).removesuffix(price.currency).strip()


@dataclass(frozen=True)
class _Looked:
    """What a path is looked for from; see `heelstamp.valuation.price_path`."""

    terms: Terms
    currency: str
    learned: Any
    left_out: int
    piece: Any
    worth: Any
    permitted: tuple[float, ...]
    agreed: tuple[float, ...]
    ratios: Any
    rng: Any
    unsold: Money
    value: float


def _looked(shop: OpenShop, tag: str, today: str) -> _Looked:
    import numpy as np

    from heelstamp.casework.sale.blocks import standing_of
    from heelstamp.shop.selling_time import SEED, ground_of
    from heelstamp.shop.terms import terms_for
    from heelstamp.valuation.money import Money
    from heelstamp.valuation.price_path import (
        BLOCK,
        MOST_BLOCKS,
        Piece,
        Worth,
        paid_ratios,
        ratios_to_try,
    )

    sale = standing_of(shop.subject(tag).state)
    if sale.state not in OPEN_STATES:
        raise ConflictError(
            "a path of prices is for a piece that may still be sold",
            where=tag,
            received=f"the sale is {sale.state}",
            remedy="Nothing is left to choose.",
        )
    terms = terms_for(shop, tag)
    if terms is None or terms.start is None:
        raise InputError(
            "no terms with a first price hold", where=tag, remedy="Agree on them under Money."
        )
    if terms.unsold is None:
        raise InputError(
            "nobody said what it is worth to the consignor unsold",
            where=tag,
            remedy="Enter it, or a floor, in the terms: at nought the best path ends at the floor.",
        )
    rng = np.random.default_rng(SEED)
    ground = ground_of(shop, tag, today, "", rng)
    past, now = ground.log_prices[: ground.past], ground.log_prices[ground.past :]
    blocks = _blocks(terms, today, MOST_BLOCKS, 7 * BLOCK)
    agreed = (*now, *[now[-1]] * BLOCK * blocks)[: BLOCK * blocks]
    value = float(np.exp(ground.value))
    ratios = paid_ratios(ground.listings, rng)
    floors = [one for one in (terms.reserve, terms.least_price) if one is not None]
    least = max((float(one.amount) for one in floors), default=0.0) / float(np.exp(ratios.mean()))
    step = Money.parse(terms.document.cut.step if terms.document.cut else "50", shop.currency)
    tried = ratios_to_try(ground.listings, [one - ground.value for one in agreed])
    prices = {_rounded(one * value, shop.currency, step) for one in tried}
    if sale.asked is not None:
        prices.add(float(sale.asked))
    top = float(sale.asked) if sale.asked is not None else float("inf")
    return _Looked(
        terms,
        shop.currency,
        ground.learned,
        ground.left_out,
        Piece(ground.value, ground.doubt, ground.week, past),
        Worth(
            lambda price: float(terms.settled(Money.nearest(price, shop.currency)).net.amount),
            float(terms.unsold.amount),
            float(terms.waiting),
        ),
        tuple(sorted(one for one in prices if least <= one <= top)),
        agreed,
        ratios,
        rng,
        terms.unsold,
        value,
    )


def _blocks(terms: Terms, today: str, most: int, days: int) -> int:
    """Blocks that are left of the term, at least one."""
    age = terms.age(date.fromisoformat(today)) if _begun(terms, today) else None
    return most if age is None else max(1, min(most, age.left // days))


def _begun(terms: Terms, today: str) -> bool:
    return terms.received is not None and terms.received.isoformat() <= today


def _rounded(price: float, currency: str, step: Money) -> float:
    from heelstamp.valuation.money import Money

    return float(Money.nearest(price, currency).rounded_to(step).amount)


def _told(found: _Looked, choice: Choice) -> BetterPath:
    from heelstamp.valuation.money import Money
    from heelstamp.valuation.price_path import BLOCK, KEPT

    def money(value: float) -> str:
        unit = Money.of(10, found.currency)
        return str(Money.nearest(value, found.currency).rounded_to(unit))

    def both(pair: tuple[float, float]) -> tuple[str, str]:
        return money(pair[0]), money(pair[1])

    prices: list[tuple[int, str]] = []
    for block, price in enumerate(choice.prices):
        said = str(Money.of(Decimal(str(price)), found.currency))
        if not prices or prices[-1][1] != said:
            prices.append((BLOCK * block, said))
    same = [log(one) for one in choice.prices for _ in range(BLOCK)] == list(found.agreed)
    offered = not same and choice.to_expect >= LEAST_GAIN * found.value
    told = []
    if offered:
        told += [
            about.prices.say(prices=prices),
            about.gain.say(half=money(choice.to_expect), promised=money(choice.promised)),
            about.worse.say(worse=choice.worse, same=choice.same),
            about.piece.say(agreed=both(choice.agreed_piece), other=both(choice.best_piece)),
            about.known.say(low=money(choice.gain_known[0]), high=money(choice.gain_known[1])),
        ]
    else:
        told.append(about.none_better.say(share=LEAST_GAIN))
    told.append(about.unsold.say(worth=str(found.unsold), waiting=float(found.terms.waiting)))
    count = found.learned.sold + found.learned.unsold
    told.append(about.rests_on.say(count=count, left_out=found.left_out))
    if offered:
        told.append(about.choice.say())
    return BetterPath(
        offered=offered,
        prices=tuple(prices),
        agreed_net=round(choice.agreed, 2),
        net=round(choice.best, 2),
        to_expect=round(KEPT * choice.promised, 2),
        worse=round(choice.worse, 3),
        same=round(choice.same, 3),
        gain_known=choice.gain_known,
        agreed_piece=choice.agreed_piece,
        piece=choice.best_piece,
        unsold=str(found.unsold),
        currency=found.currency,
        sentences=tuple(told),
    )
