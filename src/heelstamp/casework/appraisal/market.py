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
    "neck_later",
    "neck_not_seen",
    "no_case",
    "rare_colour",
    "weight",
    "asking",
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
    retail_step
        Insured values are rounded up to it, in whole units of the currency.
    rates
        Value of one unit of another currency in the shop's, each with its date in the key's note.
    """

    schema: str
    title: str
    tails: Annotated[float, msgspec.Meta(ge=2.5, le=1000)]
    noise: ScaleRow
    market_walk: ScaleRow
    made_walk: ScaleRow
    effect: list[Effect]
    state: list[StateRow] = []
    unseen: list[UnseenRow] = []
    made_breaks: list[int] = []
    break_step: Positive = 3.0
    retail_step: Annotated[int, msgspec.Meta(gt=0)] = 500
    rates: dict[str, str] = {}

    @property
    def digest(self) -> str:
        """SHA-256 of the whole document."""
        return digest_of(msgspec.to_builtins(self))

    def rate(self, currency: str) -> Decimal | None:
        """Return the rate of a currency, when there is one."""
        text = self.rates.get(currency)
        return None if text is None else Decimal(text)

    def priors(self) -> Mapping[str, Effect]:
        """Return effects by key."""
        return {one.key: one for one in self.effect}


def parse_market(data: Mapping[str, Any], *, where: str) -> Market:
    """Read a market document.

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
    for key in [one.effect for one in market.state] + [one.effect for one in market.unseen]:
        if key not in EFFECTS:
            raise InputError(
                "no such effect", where=where, received=key, remedy=nearest(key, EFFECTS)
            )
    for currency, text in market.rates.items():
        try:
            fine = Decimal(text) > 0 and Decimal(text).is_finite()
        except ArithmeticError:
            fine = False
        if not fine:
            raise InputError(
                "not a rate",
                where=f"{where}, rates.{currency}",
                received=text,
                remedy='Write it as "1.08".',
            )
    return market
