"""Markets drawn by code that shares nothing with the program's: the document read as plain TOML.

Effects, scales and walks are drawn from the priors that the bundled document states; each row's log
price is added up here, column by column of a table as a shop would write it, with alterations and
offers that found no buyer, and what nobody recorded left blank.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np

COLUMNS = (
    *("id", "date", "kind", "price", "currency", "made", "grade", "finish", "pickups", "others"),
    *("other model", "routed", "repaired break", "refretted", "neck", "case", "colour"),
)
MONTHS = 60
FIRST_YEAR, LAST_YEAR = 1956, 1966


@dataclass(frozen=True)
class SecondMarket:
    """Rows by column name, the facts of one more instrument sold last, and its log price."""

    rows: list[dict[str, str]]
    held: dict[str, str]
    log_price: float


def draw(count: int, generator: np.random.Generator) -> SecondMarket:
    """Draw a market, *count* rows of it, and one sale of its last month."""
    text = (resources.files("heelstamp.reference") / "market.toml").read_text("utf-8")
    document: dict[str, Any] = tomllib.loads(text)
    believed = {one["key"]: (one["mean"], one["sd"]) for one in document["effect"]}
    truth = {key: generator.normal(*both) for key, both in believed.items()}

    def scale(name: str) -> float:
        row = document[name]
        return float(row["typical"] * np.sqrt(row["dof"] / generator.chisquare(row["dof"])))

    noise, market, made = scale("noise"), scale("market_walk"), scale("made_walk")
    path = np.concatenate([[0.0], np.cumsum(generator.normal(0, market / np.sqrt(12), MONTHS - 1))])
    years = np.cumsum(generator.normal(0, made, LAST_YEAR - FIRST_YEAR + 1))
    level = generator.normal(8.5, 0.7)

    def one(number: int, month: int, kind: str) -> tuple[dict[str, str], float]:
        year = int(generator.integers(FIRST_YEAR, LAST_YEAR + 1))
        grade = int(generator.integers(0, 4))
        coat = generator.choice(["original", "touched up", "refinished"], p=[0.6, 0.2, 0.2])
        pickups, others = int(generator.integers(0, 3)), int(generator.poisson(1.0))
        models = int(generator.random() < 0.1)
        yes = {
            key: bool(generator.random() < p)
            for key, p in (("routed", 0.08), ("repaired break", 0.06), ("refretted", 0.3))
        }
        later, bare, rare = (bool(generator.random() < p) for p in (0.1, 0.4, 0.1))
        log = level + path[month] + truth["drift"] * (month - MONTHS + 1) / 12
        log += years[year - FIRST_YEAR] + truth["grade"] * grade
        log += {"touched up": truth["touched_up"], "refinished": truth["refinished"]}.get(coat, 0.0)
        log += truth["pickup"] * pickups + truth["other_part"] * others
        log += truth["other_model_part"] * models + truth["routed"] * yes["routed"]
        log += truth["repaired_break"] * yes["repaired break"]
        log += truth["refretted"] * yes["refretted"] + truth["neck_later"] * later
        log += truth["no_case"] * bare + truth["rare_colour"] * rare
        log += truth["asking"] * (kind != "sold") + truth["unsold"] * (kind == "unsold")
        log += noise * generator.standard_t(document["tails"])
        words = {True: "yes", False: "no"}
        return {
            "id": f"s{number}",
            "date": f"{2021 + month // 12}-{month % 12 + 1:02d}",
            "kind": kind,
            "price": f"{np.exp(log):.2f}",
            "currency": "USD",
            "made": str(year),
            "grade": "ABCD"[grade],
            "finish": str(coat),
            "pickups": str(pickups),
            "others": str(others),
            "other model": str(models),
            **{key: words[value] for key, value in yes.items()},
            "neck": "later" if later else "first",
            "case": words[not bare],
            "colour": "rare" if rare else "standard",
        }, float(log)

    kinds = generator.choice(["sold", "asking", "unsold"], size=count, p=[0.75, 0.15, 0.1])
    months = generator.integers(0, MONTHS, size=count)
    rows = [one(n, int(months[n]), str(kinds[n]))[0] for n in range(count)]
    held, log = one(count, MONTHS - 1, "sold")
    return SecondMarket(rows, held, log)
