"""Odd ones in a set: one tuner, one screw unlike the rest, beside how often that is met.

One odd among six may be the maker's own mixture, the end of a lot, or a later repair; by itself it
says which of them only as far as the rate in the census goes: of instruments of this maker whose
same set was looked over, in how many one or more differed. Taken are those completed within the
range of this one, a year wider on either side, as concluded last; all of them where the range is
not known. The interval of a rate is Wilson's, 90 %.

Sets are parts whose equal variants come from one lot (the chronology's *one_lot*), and screws of
one opening, of which head, drive, thread and metal are compared. The census knows screws by the
sign `SIGN`, which a press on Screws enters. Materiality is what the price model makes of a
replaced part of the set: *high* from a tenth of the price, *low* under it, *none* where it knows
none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from heelstamp.casework.appraisal.instrument import HEAVY, shares_of
from heelstamp.casework.appraisal.market import Market
from heelstamp.casework.census.rows import CensusRow
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.screws import Tray, trays
from heelstamp.catalogue import DossierState, Observation, PartsTree, Screw
from heelstamp.chronology import Chronology
from heelstamp.chronology.records import FeatureRow
from heelstamp.dating.calibration import wilson
from heelstamp.errors import InputError
from heelstamp.units import Period, parse_month

SIGN = "odd_member"
"""Sign by which a dossier, and so the census, says whether a set holds an odd one."""
ALIKE, ONE, SEVERAL = "all alike", "one differs", "several differ"
LEAST = 3
"""Members of a set that must have been looked at before one of them is odd."""
WIDER = 12
"""Months by which a range is widened on either side for the census (our choice)."""


@dataclass(frozen=True, slots=True)
class OddSet:
    """A set that was looked over.

    Attributes
    ----------
    key
        ``feature.ID`` or ``screws.OPENING``.
    part
        The set's part.
    looked
        Members looked at.
    odd
        What is unlike the most frequent: name of the member, and what it is like.
    usual
        What the others are like.
    """

    key: str
    part: str
    looked: int
    odd: tuple[tuple[str, str], ...]
    usual: str

    @property
    def outcome(self) -> str:
        """As the sign says it."""
        if not self.odd:
            return ALIKE
        return ONE if len(self.odd) == 1 else SEVERAL


@dataclass(frozen=True, slots=True)
class BaseRate:
    """How often a set of the census holds an odd one.

    Attributes
    ----------
    odd, of
        Instruments with an odd one, of those whose set was looked over.
    low, high
        Wilson's 90 % interval of the share; 0 to 1 where none was looked over.
    period
        Months of completion they are from; None for all.
    """

    odd: int
    of: int
    low: float
    high: float
    period: Period | None


def odd_sets(state: DossierState, tree: PartsTree, chronology: Chronology) -> tuple[OddSet, ...]:
    """Every set of a dossier of which enough members were looked at."""
    seen = [one for one in state.observations.values() if one.is_read]
    found = [
        _set_of(row, [(one.part, one.variant or "") for one in _members(row, seen)], tree)
        for row in chronology.features
        if row.one_lot
    ]
    found += [_screws_of(one) for one in trays(state, tree, chronology)]
    return tuple(one for one in found if one is not None)


def base_rate(
    rows: Iterable[CensusRow], one: OddSet, chronology: Chronology, period: Period | None
) -> BaseRate:
    """How often the census met an odd one in the same set.

    Parameters
    ----------
    period
        Months in which this instrument was completed; None where no range stands.
    """
    wide = None if period is None else Period(period.first - WIDER, period.last + WIDER)
    outcomes = [
        outcome
        for row in rows
        if wide is None or _within(row, wide)
        if (outcome := _outcome(row, one, chronology)) is not None
    ]
    odd, of = sum(outcomes), len(outcomes)
    low, high = wilson(odd / of, of) if of else (0.0, 1.0)
    return BaseRate(odd, of, max(0.0, low), min(1.0, high), wide)


def materiality(part: str, market: Market) -> str:
    """What a changed member of the set is worth to the price model: high, low or none."""
    priors = market.priors()
    worst = max(
        (
            abs(
                sum(priors[key].mean * much for key, much in shares_of(market, part, state).items())
            )
            for state in {row.state for row in market.state if part in row.parts}
        ),
        default=0.0,
    )
    if worst >= HEAVY:
        return "high"
    return "low" if worst > 0 else "none"


def sign_entries(
    state: DossierState, stamp: EntryStamp, sets: Sequence[OddSet], key: str
) -> list[NewEntry]:
    """The observation that says of a set whether it holds an odd one, for the census.

    Raises
    ------
    InputError
        There is no such set, or it was said already.
    """
    one = next((each for each in sets if each.key == key), None)
    if one is None:
        raise InputError(
            "no such set, or too few of it were looked at",
            received=key,
            remedy=f"Describe at least {LEAST} of them first.",
        )
    if stamp.id in state.entered:
        return []
    told = [each for each in state.observations.values() if each.sign == SIGN]
    if any(each.part == one.part for each in told):
        raise InputError(
            "it was said of this set already",
            where=one.part,
            remedy="Correct or withdraw that observation.",
        )
    note = "; ".join(f"{name}: {like}" for name, like in one.odd)
    body: dict[str, object] = {
        "id": stamp.id,
        "part": one.part,
        "kind": "sign",
        "status": "read",
        "sign": SIGN,
        "outcome": one.outcome,
    }
    if note:
        body["note"] = f"{note}; the others: {one.usual}."
    return [NewEntry("observation", body | stamp.late)]


def _members(row: FeatureRow, seen: Iterable[Observation]) -> list[Observation]:
    """The looks at single members of a set: the set as a whole is none of them."""
    ids = {row.id, *row.also}
    return [one for one in seen if one.feature in ids and one.part != row.set_part]


def _set_of(row: FeatureRow, members: Sequence[tuple[str, str]], tree: PartsTree) -> OddSet | None:
    if len(members) < LEAST:
        return None
    usual = _most(variant for _, variant in members)
    odd = tuple(
        (tree[part].label if part in tree else part, variant)
        for part, variant in members
        if variant != usual
    )
    return OddSet(f"feature.{row.id}", row.set_part or row.parts[0], len(members), odd, usual)


def _screws_of(tray: Tray) -> OddSet | None:
    described = [(one, _like(one)) for one in tray.screws if _like(one)]
    if len(described) < LEAST:
        return None
    usual = _most(like for _, like in described)
    odd = tuple(
        (f"screw {one.number}", like) for one, like in described if like != usual or one.odd
    )
    return OddSet(f"screws.{tray.opening}", tray.part, len(described), odd, usual)


def _like(one: Screw) -> str:
    return ", ".join(word for word in (one.metal, one.head, one.drive, one.thread) if word)


def _most(words: Iterable[str]) -> str:
    """The most frequent; of equally frequent ones that which came first."""
    return Counter(words).most_common(1)[0][0]


def _within(row: CensusRow, period: Period) -> bool:
    if row.conclusion is None or row.conclusion.median is None:
        return False
    return period.first <= parse_month(row.conclusion.median) <= period.last


def _outcome(row: CensusRow, one: OddSet, chronology: Chronology) -> bool | None:
    """Whether a row's set held an odd one; None where it was not looked over."""
    told: Mapping[str, str] = {
        str(seen.get("part")): str(seen.get("outcome"))
        for seen in row.observations
        if seen.get("sign") == SIGN and seen.get("status") == "read"
    }
    if one.part in told:
        return told[one.part] != ALIKE
    feature = chronology.feature(one.key.removeprefix("feature."))
    if feature is None or not one.key.startswith("feature."):
        return None
    ids = {feature.id, *feature.also}
    variants = [
        seen.get("variant")
        for seen in row.observations
        if seen.get("feature") in ids
        and seen.get("status") == "read"
        and seen.get("part") != feature.set_part
    ]
    return None if len(variants) < LEAST else len(set(variants)) > 1
