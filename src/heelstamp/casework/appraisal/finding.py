"""The price finding: three figures kept apart, what drives them, and what they rest on.

*Market* is a distribution of what a buyer would pay; *insured* is retail replacement; *net* is what
a sale at one named price leaves the consignor. None is ever printed as another. The finding is a
pure function of the record, the comparables, the market document, the consumer index and the
program's version; its digest is that of these.
"""

from __future__ import annotations

import msgspec


class _Found(msgspec.Struct, frozen=True, kw_only=True):
    pass


class MarketFound(_Found, frozen=True):
    """What a buyer would pay, in money of the month of the estimate.

    Attributes
    ----------
    interval_50, interval_90
        Of a single sale.
    typical_90
        Of the middle price of such instruments: without the scatter of a single sale.
    density
        Pairs of price and probability, for a picture.
    """

    median: float
    interval_50: tuple[float, float]
    interval_90: tuple[float, float]
    typical_90: tuple[float, float]
    currency: str
    as_of: str
    density: list[tuple[float, float]]


class Driver(_Found, frozen=True):
    """One thing that moves the price.

    Attributes
    ----------
    amount
        How much of it this instrument is expected to have, beyond the average comparable where
        that is said in the label.
    effect, low, high
        On the log price, with a 90 % interval.
    money
        What it does to the middle price.
    prior
        Mean and standard deviation before any sale, for one unit.
    basis
        What the prior rests on.
    """

    key: str
    label: str
    amount: float
    effect: float
    low: float
    high: float
    money: float
    prior: tuple[float, float] | None
    posterior: tuple[float, float]
    basis: str


class Uncertainty(_Found, frozen=True):
    """What the open state of one part does to the price.

    Attributes
    ----------
    medians
        Middle price for each state that is possible, with its probability.
    sd
        Standard deviation of the middle price through this part, in money.
    """

    part: str
    medians: dict[str, tuple[float, float]]
    sd: float


class Unexamined(_Found, frozen=True):
    """What it costs that something is not, or had not been, examined.

    Attributes
    ----------
    examined
        Whether it was; then the cost is what would have been lost.
    share, low, high
        Of the price, with a 90 % interval.
    learned_from
        Comparables that say whether it was examined; none when the discount is declared.
    """

    part: str
    label: str
    examined: bool
    share: float
    low: float
    high: float
    money: float
    learned_from: int
    basis: str


class Flagged(_Found, frozen=True):
    """A comparable that fits badly: kept, with how much it counts."""

    id: str
    price: str
    month: str
    surprise: float
    weight: float


class ComparablesFound(_Found, frozen=True):
    """What the price rests on.

    Attributes
    ----------
    left_out
        Ids and reasons.
    possible_repeats
        Pairs that may be one sale told twice; both count.
    """

    sold: int
    asking: int
    unsold: int
    first: str
    last: str
    outliers: list[Flagged]
    left_out: list[tuple[str, str]]
    possible_repeats: list[tuple[str, str]]


class IndexPoint(_Found, frozen=True):
    """The market index of the shop's own comparables: the first month is 100."""

    month: str
    real: float
    nominal: float
    nominal_90: tuple[float, float]


class InsuredFound(_Found, frozen=True):
    """The insured value: agreed with the owner, or proposed by a stated rule."""

    value: float
    agreed: bool
    basis: str
    proposed: float


class NetFound(_Found, frozen=True):
    """What a sale at one price leaves the consignor; sums are exact, as text."""

    net: float
    price: float
    basis: str
    lines: list[tuple[str, str, str]]
    told: list[tuple[str, str, str]]
    rounding: str


class PriceFinding(_Found, frozen=True):
    """Three figures apart; see the module head.

    Attributes
    ----------
    insured, net
        The bare figures; ``insured_value`` and ``settlement`` tell how they came about.
    schedule
        Days and asking prices from the first offer down to the floor, where terms have cuts.
    effects
        Every effect with prior, basis and posterior.
    """

    market: MarketFound
    insured: float
    net: float | None
    drivers: list[Driver]
    comparables_used: int
    without_inspection: list[Unexamined]
    uncertainties: list[Uncertainty]
    comparables: ComparablesFound
    insured_value: InsuredFound
    settlement: NetFound | None
    schedule: list[tuple[str, str]]
    market_index: list[IndexPoint]
    effects: list[Driver]
    noise: float
    consumer_index: str
    index_known_to: str | None
    sentences: list[str]
    cautions: list[str]
    program: str
    digest: str
