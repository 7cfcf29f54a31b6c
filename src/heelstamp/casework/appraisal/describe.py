"""A price finding in sentences: numbers and names for ``wording.about_price``."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec
import numpy as np

from heelstamp.casework.appraisal.finding import PriceFinding, Uncertainty
from heelstamp.units import name_month, parse_month
from heelstamp.valuation.money import Money
from heelstamp.wording import about_price as about

Z90 = 1.6448536269514722  # 95 % point of the normal distribution
MOST_OPEN = 3
"""Parts whose open state is told."""

FAR_STATES = {"neck": ("neck_later", "later_replacement"), "finish": ("refinished", "old_refinish")}
"""The effect and the state of a part, by the beginning of its name, whose price lies far off."""
SELDOM = 0.5
"""An effect that counts with less of itself than that looks small beside its own middle price."""

LEAST_OPEN = 0.01
"""Share of the middle price that an open state must move to be told."""


def whole(amount: float, currency: str) -> str:
    """Write an estimate in whole units of the currency."""
    return str(Money.nearest(amount, currency).rounded_to(Money.of(1, currency)))


def describe_price(
    finding: PriceFinding,
    *,
    above: Mapping[str, tuple[float, float]],
    labels: Mapping[str, str],
    dated: bool,
) -> PriceFinding:
    """Return the finding with its sentences and cautions.

    Parameters
    ----------
    above
        Mean and standard deviation by which asking and unsold prices lie above paid ones.
    dated
        Whether a completion date stands.
    """
    market, currency = finding.market, finding.market.currency
    compared = finding.comparables
    low, high = market.interval_90
    sentences = [
        about.market_range.say(
            low=whole(low, currency),
            high=whole(high, currency),
            median=whole(market.median, currency),
            date=name_month(parse_month(market.as_of)),
            sold=compared.sold,
            asking=compared.asking,
            unsold=compared.unsold,
        ),
        about.insured.say(
            value=whole(finding.insured, currency), basis=finding.insured_value.basis
        ),
        about.no_net.say() if finding.settlement is None else _describe_net(finding),
    ]
    sentences += [
        (about.seen if one.examined else about.unseen).say(
            label=one.label, share=one.share, money=whole(one.money, currency), basis=one.basis
        )
        for one in finding.without_inspection
    ]
    for each in finding.uncertainties[:MOST_OPEN]:
        if each.sd >= LEAST_OPEN * market.median:
            sentences.append(
                about.open_part.say(
                    part=labels.get(each.part, each.part),
                    money=whole(each.sd, currency),
                    states={
                        one: (whole(median, currency), p)
                        for one, (median, p) in each.medians.items()
                    },
                    finish=each.part == "finish",
                )
            )
            sentences += [one for one in _beside(finding, each) if one not in sentences]
    if compared.asking:
        sentences.append(
            about.asking_apart.say(
                asking=compared.asking,
                count=finding.comparables_used,
                shares=_shares(*above["asking"]),
            )
        )
    if compared.unsold:
        sentences.append(
            about.unsold_apart.say(unsold=compared.unsold, shares=_shares(*above["unsold"]))
        )
    return msgspec.structs.replace(
        finding, sentences=sentences, cautions=_describe_cautions(finding, dated)
    )


def _shares(mean: float, sd: float) -> tuple[float, float, float]:
    least, share, most = np.expm1([mean - Z90 * sd, mean, mean + Z90 * sd]).tolist()
    return share, least, most


def _beside(finding: PriceFinding, part: Uncertainty) -> list[str]:
    """Explain a small effect beside middle prices that lie far apart."""
    key, state = next(
        (two for one, two in FAR_STATES.items() if part.part.startswith(one)), ("", "")
    )
    driver = next((one for one in finding.drivers if one.key == key), None)
    middles = {one: middle for one, (middle, _) in part.medians.items()}
    if driver is None or not 0 < driver.amount < SELDOM or not {"original", state} <= set(middles):
        return []
    gap = middles["original"] - middles[state]
    if abs(driver.money) >= gap / 2:
        return []
    currency = finding.market.currency
    return [
        about.effect_and_middles.say(
            label=driver.label,
            amount=driver.amount,
            money=whole(driver.money, currency),
            gap=whole(gap, currency),
        )
    ]


def _describe_net(finding: PriceFinding) -> str:
    settled = finding.settlement
    assert settled is not None
    currency = finding.market.currency
    net = Money.nearest(settled.net, currency).exact()
    price = whole(settled.price, currency)
    return about.net.say(price=price, basis=settled.basis, net=net)


def _describe_cautions(finding: PriceFinding, dated: bool) -> list[str]:
    compared = finding.comparables
    found = [] if dated else [about.undated.say()]
    found += [
        about.outlier.say(
            id_=one.id,
            price=one.price,
            month=name_month(parse_month(one.month)),
            times=one.surprise,
            weight=one.weight,
        )
        for one in compared.outliers
    ]
    found += [about.left_out.say(id_=id_, reason=reason) for id_, reason in compared.left_out]
    found += [about.repeat.say(one=one, other=other) for one, other in compared.possible_repeats]
    if not compared.sold:
        found.append(about.only_asked.say())
    if finding.comparables_used < about.FEW:
        found.append(about.few.say(count=finding.comparables_used))
    if parse_month(finding.market.as_of) - parse_month(compared.last) > 6:
        found.append(about.ahead.say(month=name_month(parse_month(compared.last))))
    known = finding.index_known_to
    if known is not None and parse_month(known) < parse_month(finding.market.as_of):
        found.append(about.index_ends.say(month=name_month(parse_month(known))))
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
        found.append(about.interest_in.say(commission=commission, price=price))
    found.append(about.not_appraisal.say())
    return found
