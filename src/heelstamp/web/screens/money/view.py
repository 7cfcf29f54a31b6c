"""What Money shows: three figures apart, and all that is behind them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from heelstamp.casework.appraisal.entering import (
    CHOICES,
    NOTHING_FOUND,
    ROUTES,
    WORDS_OF,
    Look,
    driver_rows,
    looks,
    said_last,
    sale_fields,
    sale_row,
    sale_rows,
    three_figures,
)
from heelstamp.errors import HeelstampError, InputError
from heelstamp.report.price_pictures import (
    distribution_alt,
    distribution_svg,
    drivers_svg,
    index_svg,
)
from heelstamp.shop.clearance import clear
from heelstamp.shop.comparables import sale_history, sales_of
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.planning import next_look
from heelstamp.shop.price_path import better_path
from heelstamp.shop.prices import priced
from heelstamp.shop.terms import offer_stands, terms_here
from heelstamp.web.rendering import drawn

MOST_SHOWN = 300
"""Comparables in a table of the page, the latest."""


def money_view(shop: OpenShop, tag: str, asked: str, to: Sequence[str]) -> dict[str, Any]:
    """Lay out the price of an instrument, settled at *asked*, and the routes *to* a buyer."""
    to = [one.strip() for one in to if one.strip()]
    subject, found = shop.subject(tag), priced(shop, tag, asked)
    finding = found.finding
    sold, asking = sale_rows(found.rows, finding)
    told: dict[str, Any] = {
        "priced": found,
        "finding": finding,
        "offer": asked,
        "sold": sold,
        "asking": asking,
        "words_of": WORDS_OF,
        "choices": CHOICES,
        "routes": ROUTES,
        "to": [one for one in to if one in ROUTES],
        "elsewhere": next((one for one in to if one not in ROUTES), ""),
        "clearance": clear(shop, subject, to),
        "no_hit": NOTHING_FOUND,
        "most": MOST_SHOWN,
        "said": said_last(subject.state, found.currency),
        "stands": "",
        "market": subject.chronology.id,
    }
    if finding is not None:
        told |= {
            "three": three_figures(finding),
            "stands": offer_stands(shop, tag, asked) if asked else "",
            "drivers": driver_rows(finding.drivers, found.currency),
            "distribution": drawn(distribution_svg(finding, title="")),
            "distribution_words": distribution_alt(finding),
            "moved": drawn(drivers_svg(finding, title="")),
            "index": drawn(index_svg(finding, title="")),
        }
    return told


def path_view(shop: OpenShop, tag: str, today: str, *, looked: bool) -> dict[str, Any]:
    """Lay out another path of prices, where it is asked for, or why none can be told."""
    told: dict[str, Any] = {"path": None, "no_path": None, "today": today}
    if looked:
        try:
            told["path"] = better_path(shop, tag, today)
        except HeelstampError as error:
            told["no_path"] = error
    return {**told, "digest": terms_here(shop, tag).digest}


def sale_view(shop: OpenShop, market: str, sale: str) -> dict[str, Any]:
    """Lay out one comparable: what stands, and all that was said of it.

    Raises
    ------
    InputError
        No such comparable was ever kept.
    """
    said = sale_history(shop, market, sale)
    if not said:
        raise InputError("no such comparable", where=market, received=sale)
    stands = next((one for one in sales_of(shop, market) if one.id == sale), None)
    return {
        "sale": sale,
        "stands": stands,
        "fields": sale_fields(said[-1]),
        "said": [(one.reason, one.withdrawn, sale_row(one)) for one in said],
        "choices": CHOICES,
        "currency": said[-1].currency,
    }


def looks_at(shop: OpenShop, tag: str, rate: str) -> Sequence[Look]:
    """Return what each inspection would clear up, an hour at the bench costing *rate*."""
    return looks(next_look(shop, tag), shop.currency, float(rate or 0))
