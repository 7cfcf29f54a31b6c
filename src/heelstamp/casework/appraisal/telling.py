"""A price finding in sentences, from the one table of sentences."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec
import numpy as np

from heelstamp.casework.appraisal.finding import PriceFinding
from heelstamp.units import name_month, parse_month
from heelstamp.valuation.money import Money
from heelstamp.wording import Statement
from heelstamp.wording import about_price as about
from heelstamp.wording.about_parts import FINISH_NOUNS, STATE_NOUNS
from heelstamp.wording.strength import percent

Z90 = 1.6448536269514722  # 95 % point of the normal distribution
MOST_OPEN = 3
"""Parts whose open state is told."""

LEAST_OPEN = 0.01
"""Share of the middle price that an open state must move to be told."""


def whole(amount: float, currency: str) -> str:
    """Write an estimate in whole units of the currency."""
    return str(Money.nearest(amount, currency).rounded_to(Money.of(1, currency)))


def told(
    finding: PriceFinding, *, asked: tuple[float, float], labels: Mapping[str, str], dated: bool
) -> PriceFinding:
    """Return the finding with its sentences and cautions.

    Parameters
    ----------
    asked
        Mean and standard deviation of the effect of asking.
    dated
        Whether a completion date stands.
    """
    market, currency = finding.market, finding.market.currency
    compared = finding.comparables
    low, high = market.interval_90
    sentences = [
        about.market_range(
            low=whole(low, currency),
            high=whole(high, currency),
            median=whole(market.median, currency),
            date=name_month(parse_month(market.as_of)),
            sales=about.sales_told(compared.sold, compared.asking),
        ),
        about.insured(value=whole(finding.insured, currency), basis=finding.insured_value.basis),
        about.no_net() if finding.settlement is None else _net(finding),
    ]
    sentences += [
        about.unexamined(
            part=one.part,
            label=one.label,
            share=one.share,
            money=whole(one.money, currency),
            basis=one.basis,
            examined=one.examined,
        )
        for one in finding.without_inspection
    ]
    for each in finding.uncertainties[:MOST_OPEN]:
        if each.sd >= LEAST_OPEN * market.median:
            nouns = FINISH_NOUNS if each.part == "finish" else STATE_NOUNS
            states = [
                f"{nouns.get(state, state)} {whole(median, currency)} ({percent(p)})"
                for state, (median, p) in each.medians.items()
            ]
            sentences.append(
                about.open_part(
                    part=labels.get(each.part, each.part),
                    money=whole(each.sd, currency),
                    states=states,
                )
            )
    if compared.asking:
        mean, sd = asked
        share, least, most = (
            f"{100 * (float(np.exp(x)) - 1):+.0f} %"
            for x in (mean, mean - Z90 * sd, mean + Z90 * sd)
        )
        sentences.append(
            about.asking_apart(
                asking=compared.asking,
                count=finding.comparables_used,
                share=share,
                low=least,
                high=most,
            )
        )
    return msgspec.structs.replace(
        finding,
        sentences=[one.text for one in sentences],
        cautions=[one.text for one in _cautions(finding, dated)],
    )


def _net(finding: PriceFinding) -> Statement:
    settled = finding.settlement
    assert settled is not None
    currency = finding.market.currency
    net = Money.nearest(settled.net, currency).exact()
    price = whole(settled.price, currency)
    return about.net(price=price, basis=settled.basis, net=net)


def _cautions(finding: PriceFinding, dated: bool) -> list[Statement]:
    compared = finding.comparables
    found = [] if dated else [about.undated()]
    found += [
        about.outlier(
            id_=one.id,
            price=one.price,
            month=name_month(parse_month(one.month)),
            times=one.surprise,
            weight=one.weight,
        )
        for one in compared.outliers
    ]
    found += [about.left_out(id_=id_, reason=reason) for id_, reason in compared.left_out]
    found += [about.repeat(one=one, other=other) for one, other in compared.possible_repeats]
    if not compared.sold:
        found.append(about.only_asked())
    if finding.comparables_used < about.FEW:
        found.append(about.few(count=finding.comparables_used))
    if parse_month(finding.market.as_of) - parse_month(compared.last) > 6:
        found.append(about.ahead(month=name_month(parse_month(compared.last))))
    known = finding.index_known_to
    if known is not None and parse_month(known) < parse_month(finding.market.as_of):
        found.append(about.index_ends(month=name_month(parse_month(known))))
    if finding.settlement is not None:
        commission = next(
            (
                sum_.removeprefix("−")
                for name, _, sum_ in finding.settlement.lines
                if name == "commission"
            ),
            "",
        )
        price = whole(finding.settlement.price, finding.market.currency)
        found.append(about.interest_in(commission=commission, price=price))
    found.append(about.not_appraisal())
    return found
