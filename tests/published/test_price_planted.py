"""The invented sales of the demonstration, against the rule they were made with.

Source: the rule is stated with the invented market (docs/methods/valuation.md, "The planted
rule"); for the demonstration's guitar on Nov 2026 it gives 9,042, and a sale at 9,100 under its
terms nets 7,113.00. These twenty-four are an unlucky draw: the ordinary regression of the very form
they were made with misses seven of the twelve effects by its own 90 % ranges (one asking price lies
3.6 of the stated standard deviations off). Ours holds the whole rule in its joint 90 % region and
misses two of its parts alone (pickups, years before 1957); a third would be a fall. Whether single
ranges hold as often as they say is tested on many drawn sets of sales.
"""

import math
from functools import cache
from pathlib import Path

import msgspec
import numpy as np
import pytest

from fakes.markets import LAST, PLANTED, planted_market
from heelstamp.casework.appraisal.design import Priced, fit_market, made_row_of, walked
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.appraisal.sales_table import comparables_from
from heelstamp.reference.demonstration import demo_sales
from heelstamp.reference.market import consumer_index, load_market
from heelstamp.shop.comparables import read_sales
from heelstamp.shop.opened import load_subject
from heelstamp.shop.prices import Asked, price
from heelstamp.units import parse_month
from heelstamp.valuation.price_index import FLAT

ROOT = Path(__file__).parents[2]
Z90 = 1.6448536269514722
GROWTH = 0.035
PERIODS = {(1955, 1956): -0.15, (1962, 1964): -0.08, (1965, 1967): -0.22}
ANCHOR = (1957, 1961)
MOST_MISSED = 2
CHI_SQUARED_90 = 18.549
"""90 % point of chi-squared with 12 degrees of freedom (NIST/SEMATECH e-Handbook, 1.3.6.7.4)."""


@cache
def priced() -> Priced:
    return fit_market(
        comparables_from(demo_sales()),
        load_market(),
        consumer_index(),
        currency="USD",
        as_of=parse_month("2026-11"),
    )


def rows() -> dict[str, tuple[np.ndarray, float]]:
    """For each planted effect the combination of coefficients that it is, and its size."""
    one = priced()
    layout, size = one.layout, len(one.layout.columns)
    found = {}
    for key, value in PLANTED.items():
        row = np.zeros(size)
        row[1 + EFFECTS.index(key)] = 1.0
        found[key] = (row, value)
    for years, value in PERIODS.items():
        row = np.zeros(size)
        row[layout.made_steps] = made_row_of(years, layout.years) - made_row_of(
            ANCHOR, layout.years
        )
        found[f"made {years[0]}-{years[1]}"] = (row, value)
    # growth in money of the day, from the first sale to the last: inflation is added
    first, last = parse_month("2021-02"), parse_month("2025-08")
    years = (last - first) / 12
    row = np.zeros(size)
    row[layout.market_steps] = (
        walked(np.array([float(last)]), layout.knots)[0]
        - walked(np.array([float(first)]), layout.knots)[0]
    ) / years
    row[1 + EFFECTS.index("drift")] = 1.0
    then, now = consumer_index().log_levels(np.array([first, last], dtype=float))
    found["growth"] = (row, GROWTH - float(now - then) / years)
    return found


def test_the_planted_rule_lies_in_the_joint_90_percent_region() -> None:
    mean, covariance = priced().fit.coefficients()
    what = np.array([row for row, _ in rows().values()])
    away = what @ mean - np.array([value for _, value in rows().values()])
    distance = float(away @ np.linalg.solve(what @ covariance @ what.T, away))
    print(f"distance {distance:.1f} of at most {CHI_SQUARED_90}")  # noqa: T201 - for -s
    assert distance <= CHI_SQUARED_90


def test_planted_effects_one_by_one() -> None:
    mean, covariance = priced().fit.coefficients()
    missed = []
    for name, (row, value) in rows().items():
        centre, sd = float(row @ mean), math.sqrt(float(row @ covariance @ row))
        told = f"{name}: {centre:+.3f} ± {Z90 * sd:.3f}, planted {value:+.3f}"
        print(told)  # noqa: T201 - for -s
        if abs(centre - value) > Z90 * sd:
            missed.append(told)
    assert len(rows()) == 12
    assert len(missed) <= MOST_MISSED, missed


@pytest.fixture(scope="module")
def finding():
    subject = load_subject(str(ROOT / "examples" / "wherry-s10350.toml"), ROOT)
    asked = Asked(
        as_of="2026-11",
        grade="B",
        colour="standard",
        case=True,
        sold="9,100",
        terms=ROOT / "examples" / "consignment.toml",
    )
    return price(None, subject, asked, read_sales(ROOT / "examples" / "wherry-sales.csv"))


def test_the_demonstration_instrument(finding) -> None:
    low, high = finding.market.interval_90
    assert low <= 9042 <= high
    # the typical price of such an instrument, without the scatter of a single sale, too
    assert finding.market.typical_90[0] <= 9042 <= finding.market.typical_90[1]
    assert low < finding.market.median < high
    assert finding.comparables_used == 24
    assert (finding.comparables.sold, finding.comparables.asking) == (20, 4)


def test_net_to_the_cent(finding) -> None:
    # by hand: 22 % of 5,000 = 1,100; 14 % of 4,100 = 574; 9,100 - 1,674 - 185 - 128 = 7,113
    assert finding.net == 7113.00
    assert finding.settlement.lines[0][2] == "−1,674.00 USD"
    assert [one[2] for one in finding.settlement.lines[1:]] == ["−185.00 USD", "−128.00 USD"]


def test_the_three_figures_are_three(finding) -> None:
    assert finding.net < finding.market.median < finding.insured
    assert len({finding.net, finding.market.median, finding.insured}) == 3


def test_what_an_unopened_neck_would_cost(finding) -> None:
    # planted: buyers take 6 % off, 542 on 9,042
    (one,) = finding.without_inspection
    assert (one.part, one.examined) == ("neck", True)
    assert one.share == pytest.approx(0.06, abs=0.005)
    assert one.money == pytest.approx(542, rel=0.10)
    assert one.low < 0.06 < one.high
    assert one.learned_from == 0
    assert one.basis.startswith("declared")


@pytest.mark.parametrize("seed", [1, 2])
def test_on_many_drawn_sales_single_ranges_hold_as_often_as_they_say(seed: int) -> None:
    generator = np.random.default_rng(seed)
    hits = []
    for _ in range(40):
        drawn = fit_market(
            planted_market(150, generator).rows, load_market(), FLAT, currency="USD", as_of=LAST
        )
        mean, covariance = drawn.fit.coefficients()
        for key, value in PLANTED.items():
            place = 1 + EFFECTS.index(key)
            sd = math.sqrt(covariance[place, place])
            hits.append(abs(mean[place] - value) <= Z90 * sd)
    print(f"seed {seed}: {np.mean(hits):.3f} of {len(hits)}")  # noqa: T201 - for -s
    assert 0.86 <= np.mean(hits) <= 0.97


def test_the_finding_is_plain_json(finding) -> None:
    plain = msgspec.to_builtins(finding, str_keys=True)
    assert {"market", "insured", "net", "drivers", "comparables_used", "without_inspection"} <= (
        plain.keys()
    )
