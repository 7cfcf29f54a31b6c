"""Dossiers in which something was entered that somebody does not know yet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop

EVERY = 10_000_000
"""More dossiers than any shop has."""


def changes_since(shop: OpenShop, known: Mapping[str, str]) -> Iterator[str]:
    """Tags of dossiers whose journal does not end with the digest known of it, the oldest first.

    The end of each chain is compared: that is one query, whatever was entered.
    """
    _, heads = shop.journals.sheet("", 0, EVERY)
    return (tag for tag, head in reversed(heads.items()) if known.get(tag) != head.digest)
