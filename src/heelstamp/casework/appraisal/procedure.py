"""Pricing one instrument: comparables, dating posterior and terms to three figures kept apart.

The distribution of the price is a sum over everything the instrument may be (``instrument``), each
with the predictive distribution of the regression (``design``). The insured value lies in the upper
part of *asking* prices of such an instrument, rounded up, unless one was agreed. The net is worked
out at one named price: sold, offered, or the middle of the market.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import msgspec
import numpy as np

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.appraisal.comparables import Comparable, possible_repeats
from heelstamp.casework.appraisal.consignment import Terms
from heelstamp.casework.appraisal.describe import describe_price
from heelstamp.casework.appraisal.design import Priced, facts_of, fit_market
from heelstamp.casework.appraisal.finding import (
    ComparablesFound,
    Flagged,
    InsuredFound,
    MarketFound,
    NetFound,
    PriceFinding,
    Uncertainty,
    Unexamined,
)
from heelstamp.casework.appraisal.instrument import (
    LOOKED,
    Dated,
    Given,
    Possible,
    possible_rows,
    unseen_of,
)
from heelstamp.casework.appraisal.market import EFFECTS, Market
from heelstamp.casework.appraisal.movers import drivers_of, effects_of, market_index
from heelstamp.casework.dating.procedure import DATED, gather
from heelstamp.casework.dating.translation import translate_dossier
from heelstamp.casework.sale.blocks import standing_of
from heelstamp.catalogue import DossierState, body_data
from heelstamp.chronology import Chronology, dating_model
from heelstamp.dating import CompiledModel, Evidence, infer, judge_identity
from heelstamp.marks import MarkContext
from heelstamp.units import Month, format_month, name_month
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.money import ROUNDING_RULE, Money
from heelstamp.valuation.predictive import Distribution, predict
from heelstamp.valuation.price_index import PriceIndex
from heelstamp.wording.about_price import covering, days_after_offer

Z90 = 1.6448536269514722  # 95 % point of the normal distribution
OUTLIER = 3.0
"""Standard deviations from what the others lead to, from which a comparable is flagged."""

SHOWN_POINTS = 160
ABOVE_PAID: Mapping[str, tuple[str, ...]] = {"asking": ("asking",), "unsold": ("asking", "unsold")}
"""Effects by which prices that nobody paid lie above those paid."""


@dataclass(frozen=True)
class Sources:
    """What a price is worked out from, beside the record.

    Attributes
    ----------
    rows
        Comparables.
    context
        Reference tables for reading marks.
    """

    chronology: Chronology
    context: MarkContext
    rows: Sequence[Comparable]
    market: Market
    index: PriceIndex


@dataclass(frozen=True)
class Request:
    """What is asked beside the record.

    Attributes
    ----------
    price, basis
        Price at which the net is worked out, and what it is; the middle of the market when None.
    agreed
        Insured value agreed with the owner, and the words that tell when.
    told
        Evidence beside what was seen, as words at the strength of telling.
    """

    given: Given
    as_of: Month
    currency: str
    terms: Terms | None = None
    price: Money | None = None
    basis: str = ""
    agreed: tuple[Money, str] | None = None
    told: Evidence = ()


@dataclass(frozen=True)
class Fitted:
    """One instrument on its market.

    Attributes
    ----------
    whole
        Distribution of the log price of a sale.
    unseen
        Effects of what nobody looked at.
    dated
        Whether a completion date stands.
    states
        Of each part the probability of each state.
    """

    priced: Priced
    may_be: Possible
    whole: Distribution
    unseen: tuple[str, ...]
    dated: bool
    states: Mapping[str, Mapping[str, float]]

    @property
    def middle(self) -> float:
        """Middle price."""
        return float(np.exp(self.whole.quantile(0.5)))


def fit_instrument(state: DossierState, sources: Sources, request: Request) -> Fitted:
    """Fit the market, and lay out what the instrument may be on it.

    Raises
    ------
    InputError
        Fewer than three comparables can be used, or an observation contradicts the chronology.
    """
    chronology, market = sources.chronology, sources.market
    compiled = CompiledModel(dating_model(chronology))
    found = translate_dossier(state, chronology, sources.context)
    evidence = (*gather(found)[0], *request.told)
    posterior = infer(compiled, evidence)
    identity = judge_identity(compiled, evidence, posterior, chronology.prior.foreign_body)
    priced = fit_market(
        sources.rows,
        market,
        sources.index,
        currency=request.currency,
        as_of=request.as_of,
        years=_likely_years(compiled, posterior.months[0]),
    )
    unseen = unseen_of(state, market, {part.name for part in compiled.model.parts})
    looked = {one.part for one in state.observations.values() if one.status in LOOKED}
    dated = Dated(compiled, evidence, posterior, infer(compiled, ()), looked)
    may_be = possible_rows(dated, market, priced.layout, request.given, unseen)
    whole = predict(priced.fit, may_be.rows, may_be.probabilities)
    stands = not identity.withheld and any(isinstance(one, DATED) for one in evidence)
    names = {part.name: part.states for part in compiled.model.parts}
    states = {
        part: dict(zip(names[part], map(float, row[0]), strict=True))
        for part, row in posterior.states.items()
        if part in names
    }
    return Fitted(priced, may_be, whole, unseen, stands, states)


def price_instrument(
    state: DossierState, sources: Sources, request: Request, *, labels: Mapping[str, str]
) -> PriceFinding:
    """Price what stands in a dossier; see `fit_instrument` for what is refused.

    Parameters
    ----------
    labels
        Names of parts, by key.
    """
    index, market = sources.index, sources.market
    fitted = fit_instrument(state, sources, request)
    priced, may_be, middle = fitted.priced, fitted.may_be, fitted.middle
    typical = predict(priced.fit, may_be.rows, may_be.probabilities, noise=False)
    insured, net = _insured(priced, may_be, request), _net(middle, request)
    finding = PriceFinding(
        market=_market(fitted.whole, typical, request),
        insured=insured.value,
        net=None if net is None else net.net,
        drivers=drivers_of(priced, may_be, middle),
        comparables_used=len(priced.used),
        without_inspection=_unexamined(priced, market, fitted.unseen, middle),
        uncertainties=_uncertainties(priced, may_be, middle),
        comparables=_compared(priced),
        insured_value=insured,
        settlement=net,
        schedule=_schedule(request.terms, standing_of(state).offered),
        market_index=market_index(priced),
        effects=effects_of(priced),
        noise=float(priced.fit.share @ priced.fit.noise),
        consumer_index=index.name,
        index_known_to=format_month(index.known_to) if len(index.months) > 1 else None,
        sentences=[],
        cautions=[],
        program=f"Heelstamp {__version__}",
        digest=_digest(state, sources, request),
    )
    above = {name: _above(priced, effects) for name, effects in ABOVE_PAID.items()}
    return describe_price(finding, above=above, labels=labels, dated=fitted.dated)


def _above(priced: Priced, effects: Sequence[str]) -> tuple[float, float]:
    """Return mean and standard deviation of a sum of effects."""
    mean, covariance = priced.fit.coefficients()
    places = [1 + EFFECTS.index(one) for one in effects]
    variance = float(covariance[np.ix_(places, places)].sum())
    return float(mean[places].sum()), float(np.sqrt(variance))


def _likely_years(compiled: CompiledModel, months: np.ndarray) -> tuple[int, int]:
    likely = [m for m, p in zip(compiled.model.completion, months, strict=True) if p >= 1e-4]
    return likely[0] // MONTHS_A_YEAR, likely[-1] // MONTHS_A_YEAR


def _market(whole: Distribution, typical: Distribution, request: Request) -> MarketFound:
    def ends(one: Distribution, level: float) -> tuple[float, float]:
        low, high = np.exp(one.interval(level))
        return round(float(low), 2), round(float(high), 2)

    low, high = whole.quantile(0.002), whole.quantile(0.998)
    points = np.linspace(low, high, SHOWN_POINTS)
    density = np.interp(points, whole.log_price, whole.mass)
    density /= density.sum()
    return MarketFound(
        median=round(float(np.exp(whole.quantile(0.5))), 2),
        interval_50=ends(whole, 0.5),
        interval_90=ends(whole, 0.9),
        typical_90=ends(typical, 0.9),
        currency=request.currency,
        as_of=format_month(request.as_of),
        density=[
            (round(float(np.exp(x)), 2), round(float(p), 6))
            for x, p in zip(points, density, strict=True)
        ],
    )


def _insured(priced: Priced, may_be: Possible, request: Request) -> InsuredFound:
    """Propose the upper part of asking prices, rounded up; an agreed value goes before it."""
    place = 1 + EFFECTS.index("asking")
    rows = may_be.rows.copy()
    rows[:, place] = 1.0
    level = priced.market.retail_level
    asked = float(np.exp(predict(priced.fit, rows, may_be.probabilities).quantile(level)))
    step = Money.of(priced.market.retail_step, request.currency)
    proposed = Money.nearest(asked, request.currency).rounded_to(step, up=True)
    if request.agreed is not None:
        value, when = request.agreed
        return InsuredFound(
            value=float(value.amount), agreed=True, basis=when, proposed=float(proposed.amount)
        )
    return InsuredFound(
        value=float(proposed.amount),
        agreed=False,
        basis=covering(level, month=name_month(request.as_of), step=str(step)),
        proposed=float(proposed.amount),
    )


def _net(middle: float, request: Request) -> NetFound | None:
    if request.terms is None:
        return None
    price, basis = request.price, request.basis
    if price is None:
        unit = Money.of(1, request.currency)
        price = Money.nearest(middle, request.currency).rounded_to(unit)
        basis = ", the middle of the market, not a price anyone has paid"
    settled = request.terms.settled(price)
    return NetFound(
        net=float(settled.net.amount),
        price=float(price.amount),
        basis=basis,
        lines=[(one.name, one.basis, one.amount.exact()) for one in settled.lines],
        told=[(one.name, one.basis, one.amount.exact()) for one in settled.told],
        rounding=ROUNDING_RULE,
    )


def _schedule(terms: Terms | None, offered: str) -> list[tuple[str, str]]:
    """Asking prices from the day of the first offer; by days after it while it is not offered."""
    if terms is None:
        return []
    if offered:
        steps = terms.schedule(date.fromisoformat(offered))
        return [(one.day.isoformat(), str(one.price)) for one in steps]
    first = date(2000, 1, 1)  # any day: only distances are told
    told = [((one.day - first).days, str(one.price)) for one in terms.schedule(first)]
    return [(days_after_offer(days), price) for days, price in told]


def _uncertainties(priced: Priced, may_be: Possible, middle: float) -> list[Uncertainty]:
    mean, _ = priced.fit.coefficients()
    logs = may_be.rows @ mean
    centre = float(may_be.probabilities @ logs)
    found = []
    for part, states in may_be.states.items():
        told: dict[str, tuple[float, float]] = {}
        variance = 0.0
        for state in dict.fromkeys(states):
            own = np.array([one == state for one in states])
            p = float(may_be.probabilities[own].sum())
            log = float(may_be.probabilities[own] @ logs[own]) / p
            told[state] = (round(middle * float(np.exp(log - centre)), 2), p)
            variance += p * (log - centre) ** 2
        found.append(
            Uncertainty(part=part, medians=told, sd=round(middle * float(np.sqrt(variance)), 2))
        )
    return sorted(found, key=lambda one: -one.sd)


def _unexamined(
    priced: Priced, market: Market, unseen: Sequence[str], middle: float
) -> list[Unexamined]:
    mean, covariance = priced.fit.coefficients()
    found = []
    for row in market.unseen:
        place = 1 + EFFECTS.index(row.effect)
        effect, sd = float(mean[place]), float(np.sqrt(covariance[place, place]))
        told = sum(facts_of(one).get(row.effect) is not None for one in priced.used)
        examined = row.effect not in unseen
        share = 1 - float(np.exp(effect))
        # unexamined, the middle price has the discount in it already
        money = middle * share if examined else middle * (float(np.exp(-effect)) - 1)
        low, high = (1 - float(np.exp(effect + side * Z90 * sd)) for side in (1, -1))
        basis = market.priors()[row.effect].basis
        found.append(
            Unexamined(
                part=row.part,
                label=row.label,
                examined=examined,
                share=share,
                low=low,
                high=high,
                money=round(money, 2),
                learned_from=told,
                basis=f"learned from {told} comparables" if told else f"declared: {basis}",
            )
        )
    return found


def _compared(priced: Priced) -> ComparablesFound:
    sold = [one for one in priced.used if one.kind == "sold"]
    months = sorted(one.month for one in priced.used)
    flagged = [
        Flagged(
            id=row.id,
            price=str(row.price),
            month=row.month,
            surprise=round(float(surprise), 2),
            weight=round(float(weight), 3),
        )
        for row, surprise, weight in zip(
            priced.used, priced.fit.surprise, priced.fit.weights, strict=True
        )
        if abs(surprise) >= OUTLIER
    ]
    unsold = sum(one.kind == "unsold" for one in priced.used)
    return ComparablesFound(
        sold=len(sold),
        asking=len(priced.used) - len(sold) - unsold,
        unsold=unsold,
        first=months[0],
        last=months[-1],
        outliers=sorted(flagged, key=lambda one: -abs(one.surprise)),
        left_out=[(one.id, one.reason) for one in priced.left_out],
        possible_repeats=possible_repeats(priced.used),
    )


def _digest(state: DossierState, sources: Sources, request: Request) -> str:
    index = sources.index
    terms = None if request.terms is None else request.terms.document
    return digest_of(
        {
            "observations": [body_data(one) for one in state.observations.values()],
            "chronology": sources.chronology.digest,
            "comparables": msgspec.to_builtins(sources.rows),
            "market": sources.market.digest,
            "index": [index.name, format_month(index.known_to) if index.months else ""],
            "request": [
                repr(request.given),
                request.as_of,
                request.currency,
                str(request.price),
                None if request.agreed is None else str(request.agreed[0]),
                msgspec.to_builtins(terms),
                *([repr(request.told)] if request.told else []),
            ],
            "program": __version__,
        }
    )
