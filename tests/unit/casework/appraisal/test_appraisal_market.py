"""Market documents, and what the columns of the regression hold."""

import copy
import math
import tomllib
from decimal import Decimal
from typing import Any

import msgspec
import numpy as np
import pytest

from fakes.markets import FIRST, LAST, planted_log, planted_market
from heelstamp.casework.appraisal.comparables import Comparable
from heelstamp.casework.appraisal.design import facts_of, fit_market, made_row_of
from heelstamp.casework.appraisal.market import EFFECTS, parse_market
from heelstamp.casework.appraisal.movers import market_index
from heelstamp.errors import InputError
from heelstamp.reference.market import consumer_index, load_market, market_text
from heelstamp.units import format_month, parse_month
from heelstamp.valuation.predictive import predict
from heelstamp.valuation.price_index import FLAT

DATA = tomllib.loads(market_text())


def changed(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(DATA), **changes}


def test_every_effect_has_a_prior_with_a_basis() -> None:
    market = load_market()
    assert {one.key for one in market.effect} == set(EFFECTS)
    assert all(one.basis and one.label for one in market.effect)
    assert len(market.digest) == 64


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (changed(schema="heelstamp/market/2"), "not a market document"),
        (changed(effect=DATA["effect"][1:]), "no drift"),
        (changed(effect=[*DATA["effect"], DATA["effect"][3]]), "refinished twice"),
        (changed(effect=[{**DATA["effect"][0], "key": "drfit"}]), "no such effect"),
        (changed(effect=[{**DATA["effect"][0], "basis": " "}]), "basis"),
        (changed(effect=[{**DATA["effect"][0], "sd": 0}]), "sd"),
        (changed(unseen=[{**DATA["unseen"][0], "effect": "x"}]), "no such effect"),
        (changed(rates={"EUR": "one"}), "not a rate"),
        (changed(rates={"EUR": "-1"}), "not a rate"),
        (changed(colour="red"), "colour"),
    ],
)
def test_bad_documents_are_refused(data: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_market(data, where="market.toml")
    assert told in str(caught.value)
    assert "market.toml" in str(caught.value)


def rows(count: int, seed: int = 1) -> list[Comparable]:
    return planted_market(count, np.random.default_rng(seed)).rows


def fit(some: list[Comparable], **changes: Any) -> Any:
    asked = {"currency": "USD", "as_of": LAST, **changes}
    return fit_market(some, load_market(), asked.pop("index", FLAT), **asked)


def test_unusable_rows_are_left_out_and_told() -> None:
    some = rows(10)
    some[0] = msgspec.structs.replace(some[0], currency="EUR")
    some[1] = msgspec.structs.replace(some[1], month=format_month(LAST + 1))
    priced = fit(some)
    assert len(priced.used) == 8
    assert [(one.id, one.reason) for one in priced.left_out] == [
        (some[0].id, "no rate from EUR to USD"),
        (some[1].id, "after the month of the estimate"),
    ]
    with pytest.raises(InputError, match="too few comparables"):
        fit(some[:4])


def test_a_rate_brings_another_currency_in() -> None:
    some = rows(30)
    halved = [
        msgspec.structs.replace(one, currency="EUR", minor=one.minor // 2) if k % 2 else one
        for k, one in enumerate(some)
    ]
    market = parse_market(changed(rates={"EUR": "2"}), where="m")
    with_rate = fit_market(halved, market, FLAT, currency="USD", as_of=LAST)
    plain = fit_market(some, market, FLAT, currency="USD", as_of=LAST)
    assert with_rate.left_out == ()
    assert with_rate.fit.coefficients()[0] == pytest.approx(plain.fit.coefficients()[0], abs=1e-3)


def test_rates_go_by_month() -> None:
    rates = {"EUR": {"2020-01": "1.10", "2022-07": "1.02"}, "GBP": "1.3"}
    market = parse_market(changed(rates=rates), where="m")
    told = [market.rate("EUR", parse_month(one)) for one in ("2019-12", "2020-01", "2022-06")]
    assert told == [None, Decimal("1.10"), Decimal("1.10")]
    assert market.rate("EUR", parse_month("2026-01")) == Decimal("1.02")
    assert market.rate("GBP", parse_month("1999-01")) == Decimal("1.3")
    some = [msgspec.structs.replace(one, currency="EUR", month="2019-05") for one in rows(6)[:1]]
    priced = fit_market([*some, *rows(6)[1:]], market, FLAT, currency="USD", as_of=LAST)
    assert priced.left_out[0].reason == "no rate from EUR to USD in 2019-05"
    with pytest.raises(InputError, match="no such month"):
        parse_market(changed(rates={"EUR": {"2020-13": "1"}}), where="m")


def test_a_document_of_the_shop_gets_what_it_does_not_name_from_the_usual_one() -> None:
    old = changed(effect=[one for one in DATA["effect"] if one["key"] != "routed"])
    del old["sign"]
    market = parse_market(old, where="market.toml", usual=load_market())
    assert market.priors()["routed"] == load_market().priors()["routed"]
    assert market.sign == load_market().sign
    assert parse_market(changed(sign=[]), where="m", usual=load_market()).sign == []


def test_half_the_price_is_its_logarithm() -> None:
    assert load_market().priors()["refinished"].mean == pytest.approx(math.log(0.5), abs=0.005)


def test_inflation_is_taken_out_and_put_back() -> None:
    # prices that only rose with the consumer index: the real market stands still
    index = consumer_index()
    some = []
    for k, one in enumerate(rows(60)):
        month = FIRST + (LAST - 3 - FIRST) * k // 60
        price = index.between_months(9000.0, FIRST, month)
        some.append(
            Comparable(
                id=one.id,
                month=format_month(month),
                kind="sold",
                minor=round(100 * price),
                currency="USD",
                made=(1960, 1960),
            )
        )
    points = market_index(fit(some, index=index))
    assert points[0].real == points[0].nominal == 100
    assert points[-1].real == pytest.approx(100, abs=2.5)
    grown = 100 * index.between_months(1.0, FIRST, LAST)
    assert points[-1].nominal == pytest.approx(grown, rel=0.025)
    assert points[-1].nominal_90[0] < grown < points[-1].nominal_90[1]


def test_few_comparables_give_wide_ranges_and_many_narrow_ones() -> None:
    widths = []
    for count in (6, 24, 120):
        spans = []
        for seed in range(6):
            priced = fit(rows(count, seed))
            low, high = predict(priced.fit, priced.layout.row({}, (1960, 1960))).interval(0.9)
            spans.append(high - low)
        widths.append(np.mean(spans))
    assert widths[0] > 1.15 * widths[1] > 1.15 * 1.15 * widths[2]


def test_the_asking_offset_is_learned_apart() -> None:
    priced = fit(rows(200, seed=9))
    mean, covariance = priced.fit.coefficients()
    place = 1 + EFFECTS.index("asking")
    assert abs(mean[place] - 0.11) < 2.5 * math.sqrt(covariance[place, place])
    assert math.sqrt(covariance[place, place]) < 0.03


def test_what_an_unlooked_neck_costs_is_learned_where_comparables_say_so() -> None:
    generator = np.random.default_rng(6)
    place = 1 + EFFECTS.index("neck_not_seen")
    bare = rows(120, seed=6)
    told = []
    for one in bare:
        seen = bool(generator.random() < 0.5)
        minor = one.minor if seen else round(one.minor * math.exp(-0.15))
        told.append(msgspec.structs.replace(one, neck_seen=seen, minor=minor))
    learned, declared = (fit(some).fit.coefficients() for some in (told, bare))
    prior = load_market().priors()["neck_not_seen"]
    assert declared[0][place] == pytest.approx(prior.mean, abs=1e-6)
    assert learned[0][place] == pytest.approx(-0.15, abs=0.03)
    assert learned[1][place, place] < 0.5 * declared[1][place, place]


def test_steps_of_years_run_both_ways_from_the_middle() -> None:
    years = (1955, 1959)
    assert made_row_of((1957, 1957), years).tolist() == [0, 0, 0, 0]
    assert made_row_of((1955, 1955), years).tolist() == [-1, -1, 0, 0]
    assert made_row_of((1959, 1959), years).tolist() == [0, 0, 1, 1]
    assert made_row_of((1958, 1959), years).tolist() == [0, 0, 1, 0.5]
    assert made_row_of((1940, 1950), years).tolist() == [-1, -1, 0, 0]  # beyond: as the first


def test_what_nobody_recorded_counts_as_the_average() -> None:
    some = rows(40)
    blank = msgspec.structs.replace(some[0], pickups=None, case=None)
    priced = fit([blank, *some[1:]])
    row = priced.layout.row(facts_of(blank), blank.made)
    known = [one.pickups for one in some[1:]]
    assert row[1 + EFFECTS.index("pickup")] == pytest.approx(np.mean(known))
    assert row[1 + EFFECTS.index("weight")] == 0.0  # nobody weighed anything


def test_a_spectacular_sale_is_flagged_and_kept() -> None:
    some = rows(40, seed=2)
    wild = msgspec.structs.replace(some[5], minor=round(some[5].minor * 4))
    priced = fit([*some[:5], wild, *some[6:]])
    assert len(priced.used) == 40
    assert priced.fit.weights[5] < 0.1
    calm = fit(some)
    ask = priced.layout.row(facts_of(some[0]), some[0].made)
    before, after = (predict(one.fit, ask).quantile(0.5) for one in (calm, priced))
    assert abs(after - before) < 0.04


def test_the_planted_rule_is_the_stated_one() -> None:
    # the demonstration's guitar: 1965, grade B, touched up, Nov 2026: 9,042
    one = Comparable(
        id="h",
        month="2026-11",
        kind="sold",
        minor=1,
        currency="USD",
        made=(1965, 1965),
        grade="B",
        finish="touched_up",
        pickups=0,
        neck="first",
        case=True,
        colour="standard",
    )
    assert math.exp(planted_log(one)) == pytest.approx(9042, abs=1)
