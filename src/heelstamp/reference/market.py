"""The bundled market document, the consumer price index, protected materials."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from heelstamp.casework.appraisal.clearance import ProtectedMaterial
from heelstamp.casework.appraisal.market import Market, parse_market
from heelstamp.reference.tables import cite, load
from heelstamp.units import parse_month
from heelstamp.valuation.price_index import PriceIndex

FILE = "market.toml"


def market_text() -> str:
    """The bundled market document as text, for a shop to copy and change."""
    return (resources.files("heelstamp.reference") / FILE).read_text("utf-8")


@cache
def load_market() -> Market:
    """The bundled market document."""
    data: Mapping[str, Any] = tomllib.loads(market_text())
    return parse_market(data, where=FILE)


@cache
def consumer_index() -> PriceIndex:
    """US consumer prices, all items, urban (BLS CPI-U, not seasonally adjusted)."""
    return PriceIndex(
        "US consumer prices (BLS CPI-U, all items, not seasonally adjusted)",
        MappingProxyType(
            {parse_month(row["month"]): float(row["index"]) for row in load("cpi_u_monthly")}
        ),
        MappingProxyType({int(row["year"]): float(row["index"]) for row in load("cpi_u_annual")}),
    )


@cache
def protected_materials() -> tuple[ProtectedMaterial, ...]:
    """The materials and routes to ask about."""
    return tuple(
        ProtectedMaterial(
            id=row["id"],
            rule=row["taxon_or_rule"],
            words=tuple(row["words"].split(";")),
            appendix=row["appendix"],
            in_force=row["in_force"],
            reach=row["reach"],
            scope=row["scope"],
            question=row["question"],
            source=cite(row),
        )
        for row in load("protected_materials")
    )
