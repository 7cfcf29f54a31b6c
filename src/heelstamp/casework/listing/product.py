"""A listing as schema.org Product and Offer (JSON-LD 1.1), for search engines and marketplaces.

Terms are those of schema.org; a weight has its UN/CEFACT code (``GRM``, Recommendation 20). What
has no term there, as a range of months with its probability, stands as a ``PropertyValue`` in the
report's own words. The number is masked as everywhere. The context is written as a vocabulary, so
that no processor needs a network to read the file.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from heelstamp.casework.listing.composing import Listing, text_of
from heelstamp.casework.papers.document import ReportDocument

VOCABULARY = "https://schema.org/"
_AVAILABLE = {"offered": "InStock", "held": "Reserved", "agreed": "Reserved", "sold": "SoldOut"}
_GRAMS = re.compile(r"(\d+(?:\.\d+)?)(?: ± \d+(?:\.\d+)?)? g\b")
_WORDED = {"guitar": "Electric guitar", "bass": "Electric bass guitar"}


def product(
    document: ReportDocument, listing: Listing, *, shop: str, images: Sequence[str]
) -> dict[str, Any]:
    """Describe a listing as a product.

    Parameters
    ----------
    document
        The buyer's report that it was composed of.
    images
        Paths of the pictures beside the file, in the order of showing.
    """
    maker = document.subtitle.partition(", ")[0]
    made: dict[str, Any] = {
        "@context": {"@vocab": VOCABULARY},
        "@type": "Product",
        "name": listing.title,
        "sku": listing.tag,
        "brand": {"@type": "Brand", "name": maker},
        "manufacturer": {"@type": "Organization", "name": maker},
        "model": document.title,
        "category": _WORDED.get(document.kind, document.kind),
        "description": text_of(listing, "middle"),
        "itemCondition": _term("UsedCondition"),
        "image": list(images),
        "additionalProperty": _properties(document, listing),
        "offers": _offer(listing, shop),
    }
    grams = _grams(listing)
    if grams:
        made["weight"] = {"@type": "QuantitativeValue", "value": grams, "unitCode": "GRM"}
    return made


def _offer(listing: Listing, shop: str) -> dict[str, Any]:
    offer = listing.offer
    made: dict[str, Any] = {
        "@type": "Offer",
        "itemCondition": _term("UsedCondition"),
        "availability": _term(_AVAILABLE[offer.state]),
        "seller": {"@type": "Organization", "name": shop},
    }
    if offer.amount:
        made |= {"price": offer.amount, "priceCurrency": offer.currency}
    return made


def _properties(document: ReportDocument, listing: Listing) -> list[dict[str, str]]:
    told = [("Completed", listing.answer.text)]
    told += [(name, value) for name, value in document.identity if name == "Serial"]
    told += [(row.label, row.said) for row in document.parts if row.verdict != "not judged"]
    told += [("Flaw", one.text) for one in listing.flaws]
    told += [("Not seen", one.text) for one in listing.unseen]
    told += list(listing.measured)
    return [
        {"@type": "PropertyValue", "name": name[:1].upper() + name[1:], "value": value}
        for name, value in told
    ]


def _grams(listing: Listing) -> float | None:
    for name, value in listing.measured:
        found = _GRAMS.search(value)
        if name.startswith("Weight") and found:
            return float(found[1])
    return None


def _term(name: str) -> dict[str, str]:
    return {"@id": VOCABULARY + name}
