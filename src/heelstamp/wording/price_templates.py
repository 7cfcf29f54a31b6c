"""Sentences about prices: layer, rule and text of each.

A part of the one table of sentences (``sentences.TEMPLATES``), kept in a file of its own. Rule 13:
a value is estimated on a date from a number of sales, and nothing is legal advice. Rule 14: what
the shop earns is told. The three figures are named whole and never stand for each other.
"""

from __future__ import annotations

from typing import Literal

Row = tuple[Literal["seen", "measured", "inferred", "opinion"], int, str]


def _inferred(rule: int, text: str) -> Row:
    return "inferred", rule, text


def _measured(rule: int, text: str) -> Row:
    return "measured", rule, text


def _opinion(rule: int, text: str) -> Row:
    return "opinion", rule, text


PRICES: dict[str, Row] = {
    "price market": _opinion(
        13, "Market: {low} to {high} (90 %), middle {median}, estimated on {date} from {sales}."
    ),
    "price insured": _opinion(13, "Insured, as retail replacement: {value}, {basis}."),
    "price net": _opinion(13, "Net to the consignor at {price}{basis}: {net}."),
    "price no net": _opinion(
        13, "Net to the consignor: not worked out, for no terms of consignment were given."
    ),
    "price unseen": _inferred(
        13,
        "Not examined: {label}. Buyers are taken to pay {share} less for that, about {money} "
        "({basis}).",
    ),
    "price seen": _inferred(
        13,
        "Had {label} not been examined, about {money} less ({share}) would be expected ({basis}).",
    ),
    "price open part": _inferred(
        13, "What is open about the {part} moves the middle price by about {money}: {states}."
    ),
    "price asking": _measured(
        13,
        "{asking} of {count} comparables are asking prices, kept apart: asked lies {share} above "
        "paid ({low} to {high}, 90 %).",
    ),
    "price outlier": _measured(
        13,
        "Comparable {id}, {price} in {month}, lies {times} standard deviations from what the "
        "others lead to; it is kept and counts {weight} of an ordinary sale.",
    ),
    "price left out": _measured(13, "Comparable {id} is not used: {reason}."),
    "price repeat": _measured(
        13, "Comparables {one} and {other} may be one sale told twice; both are used."
    ),
    "price only asked": _opinion(
        13,
        "All comparables are asking prices: how far what is paid lies below them is only believed.",
    ),
    "price few": _opinion(
        13, "{count} comparables are few: the range leans on what was assumed before any sale."
    ),
    "price ahead": _opinion(
        13,
        "The last comparable is of {month}; the market since then is not seen, and the range is "
        "wider for it.",
    ),
    "price index ends": _measured(
        13, "The consumer index used ends {month}; later months are taken at its last value."
    ),
    "price undated": _opinion(
        13,
        "No completion date is given for the whole instrument; the price rests on what is likely "
        "of its parts.",
    ),
    "price not appraisal": _opinion(
        13,
        "An estimate from comparable sales, not an appraisal under any licence; tax and law are "
        "deferred to those who may advise on them.",
    ),
    "price interest": _opinion(14, "The shop earns {commission} of a sale at {price}."),
    "sales added": _measured(
        13,
        "{count} added to the comparables of {market}: {sold} sold, {asking} asking; there are "
        "now {total}.",
    ),
}
"""Templates by name."""
