"""What is believed of a market before its sales are seen, and what each state of a part means.

A market document is TOML, schema ``heelstamp/market/1``: effects on the log price with their
priors and the basis of each, which state of which part counts as which effect and how much of it,
what buyers take off for something nobody looked at, and scales of noise and of the two walks. One
comes with the program (common practice, no source); a shop's own ``market.toml`` replaces it. The
basis of every prior is printed beside its posterior.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Annotated, Any

import msgspec

from heelstamp.archive import digest_of
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.errors import InputError
from heelstamp.units import Month, parse_month
from heelstamp.valuation.regression import Scale

MARKET_SCHEMA = "heelstamp/market/1"
EFFECTS = (
    "drift",
    "grade",
    "touched_up",
    "refinished",
    "recent_refinish",
    "pickup",
    "other_part",
    "other_model_part",
    "routed",
    "repaired_break",
    "refretted",
    "neck_later",
    "neck_not_seen",
    "no_case",
    "rare_colour",
    "weight",
    "asking",
    "unsold",
    "venue_auction",
    "venue_shop",
    "venue_private",
    "venue_online",
    "venue_fair",
)

Positive = Annotated[float, msgspec.Meta(gt=0, le=10)]
Basis = Annotated[str, msgspec.Meta(pattern=r"\S")]


class _Row(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    pass


class Effect(_Row, frozen=True):
    """A prior of one effect on the log price: normal, with what it rests on."""

    key: str
    label: str
    mean: Annotated[float, msgspec.Meta(ge=-5, le=5)]
    sd: Positive
    basis: Basis


class ScaleRow(_Row, frozen=True):
    """A prior of a standard deviation: scaled inverse chi-squared."""

    typical: Positive
    dof: Annotated[float, msgspec.Meta(gt=0, le=1000)]
    basis: Basis

    @property
    def scale(self) -> Scale:
        """For the engine."""
        return Scale(self.typical, self.dof)


class StateRow(_Row, frozen=True):
    """A state of some parts that counts as *share* of an effect."""

    parts: list[str]
    state: str
    effect: str
    share: Annotated[float, msgspec.Meta(ge=0, le=5)] = 1.0


class SignRow(_Row, frozen=True):
    """An alteration seen on some parts that counts as *share* of an effect.

    Attributes
    ----------
    parts
        Parts on which it is asked; ``*`` for every part.
    sign, outcome
        As an observation names them.
    label, words
        What to call the sign, and the outcome.
    """

    parts: list[str]
    sign: str
    outcome: str
    effect: str
    label: str
    words: str
    share: Annotated[float, msgspec.Meta(ge=0, le=5)] = 1.0


class UnseenRow(_Row, frozen=True):
    """What buyers take off as long as nobody looked at an observation of *kind* on *part*."""

    part: str
    kind: str
    effect: str
    label: str


class Market(_Row, frozen=True):
    """A market document; see the module head.

    Attributes
    ----------
    tails
        Degrees of freedom of the noise.
    made_breaks
        Years in which the maker's prices part; the walk over years of making may step there.
    break_step
        How many ordinary steps such a step is.
    retail_level
        Share of replacement prices that an insured value covers.
    retail_step
        Insured values are rounded up to it, in whole units of the currency.
    rates
        Value of one unit of another currency in the shop's: one for all months, or by month.
    """

    schema: str
    title: str
    tails: Annotated[float, msgspec.Meta(ge=2.5, le=1000)]
    noise: ScaleRow
    market_walk: ScaleRow
    made_walk: ScaleRow
    effect: list[Effect]
    state: list[StateRow] = []
    sign: list[SignRow] = []
    unseen: list[UnseenRow] = []
    made_breaks: list[int] = []
    break_step: Positive = 3.0
    retail_level: Annotated[float, msgspec.Meta(ge=0.5, le=0.95)] = 0.75
    retail_step: Annotated[int, msgspec.Meta(gt=0)] = 500
    rates: dict[str, str | dict[str, str]] = {}

    @property
    def digest(self) -> str:
        """SHA-256 of the whole document."""
        return digest_of(msgspec.to_builtins(self))

    def rate(self, currency: str, month: Month) -> Decimal | None:
        """Return the rate of a currency in a month: that of the last month told up to then.

        None where none is told, or none before the month.
        """
        told = self.rates.get(currency)
        if isinstance(told, dict):
            known = {parse_month(one): text for one, text in told.items()}
            told = known.get(max((one for one in known if one <= month), default=-1))
        return None if told is None else Decimal(told)

    def priors(self) -> Mapping[str, Effect]:
        """Return effects by key."""
        return {one.key: one for one in self.effect}


def parse_market(data: Mapping[str, Any], *, where: str, usual: Market | None = None) -> Market:
    """Read a market document.

    Parameters
    ----------
    usual
        Gives priors of effects, and alterations, that the document does not name.

    Raises
    ------
    InputError
        Another schema, an unknown field or effect, an effect missing or twice, a rate that is no
        number.
    """
    if data.get("schema") != MARKET_SCHEMA:
        raise InputError(
            "not a market document this program reads",
            where=where,
            received=data.get("schema"),
            remedy=f'Write schema = "{MARKET_SCHEMA}" at the top.',
        )
    market = convert(dict(data), Market, where=where)
    if usual is not None:
        market = _completed(market, usual, dict(data))
    keys = [one.key for one in market.effect]
    for key in keys:
        if key not in EFFECTS:
            raise InputError(
                "no such effect", where=where, received=key, remedy=nearest(key, EFFECTS)
            )
    if sorted(keys) != sorted(EFFECTS):
        wrong = next((k for k in keys if keys.count(k) > 1), None)
        missing = next((k for k in EFFECTS if k not in keys), None)
        raise InputError(
            "every effect is named once",
            where=where,
            received=f"{wrong} twice" if wrong else f"no {missing}",
            remedy="Copy the row from the bundled document.",
        )
    named = [row.effect for row in market.state] + [row.effect for row in market.sign]
    for key in named + [row.effect for row in market.unseen]:
        if key not in EFFECTS:
            raise InputError(
                "no such effect", where=where, received=key, remedy=nearest(key, EFFECTS)
            )
    for currency, told in market.rates.items():
        place = f"{where}, rates.{currency}"
        by_month = told if isinstance(told, dict) else {"": told}
        for month, text in by_month.items():
            if month:
                parse_month(month, where=place)
            _check_rate(text, place)
    return market


def _completed(market: Market, usual: Market, told: Mapping[str, Any]) -> Market:
    """A shop's document with what it does not name taken from the usual one."""
    named = {one.key for one in market.effect}
    more = [one for one in usual.effect if one.key not in named]
    return msgspec.structs.replace(
        market, effect=[*market.effect, *more], sign=market.sign if "sign" in told else usual.sign
    )


def _check_rate(text: str, place: str) -> None:
    try:
        fine = Decimal(text) > 0 and Decimal(text).is_finite()
    except ArithmeticError:
        fine = False
    if not fine:
        raise InputError("not a rate", where=place, received=text, remedy='Write it as "1.08".')
