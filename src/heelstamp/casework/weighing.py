"""What each observation does to the date, and the date with some of them set aside.

Setting aside is a question, not an entry: the dossier stays as it is, and the answer is computed
from the same state without those observations. What leaving out one of them does to the range is
the exact leave-one-out of the finding.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from heelstamp.casework.feature_names import FeatureNames, observation_label, part_label
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.chronology import Chronology
from heelstamp.chronology.change_view import CensusPoint, ChangeView
from heelstamp.errors import InputError
from heelstamp.units import Period, parse_month
from heelstamp.wording.about_dates import SURPRISING, span_words

STRONG = 6
"""Parts shown at once; the others, which move the date less, stand behind them."""


@dataclass(frozen=True, slots=True)
class Weight:
    """One observation on the scale.

    Attributes
    ----------
    id, label
        Of the observation, in words.
    own
        The months that it names by itself, in words; empty where it names none.
    without
        The 90 % range without it, in words; empty while it is set aside or no range is given.
    surprising
        Whether it sits badly with all the others (mid-p below the limit of the papers).
    aside
        Whether it is set aside now.
    """

    id: str
    label: str
    own: str
    without: str
    surprising: bool
    aside: bool


@dataclass(frozen=True, slots=True)
class PartWeight:
    """What was seen on one part, on the scale.

    Attributes
    ----------
    part, label
        Its key and its name.
    without
        The 90 % range without all of it, in words; empty while it is set aside.
    moved
        Total variation between the dates with and without all of it, 0 to 1.
    aside
        Whether all of it is set aside now.
    """

    part: str
    label: str
    without: str
    moved: float
    aside: bool
    observations: tuple[Weight, ...]

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of its observations."""
        return tuple(one.id for one in self.observations)


def set_aside(state: DossierState, ids: Collection[str]) -> DossierState:
    """The state without some observations; nothing is entered.

    Raises
    ------
    InputError
        One of *ids* is no observation that stands; names it.
    """
    strange = sorted(set(ids) - set(state.observations))
    if strange:
        raise InputError(
            "no such observation to set aside",
            where=state.instrument.tag,
            received=strange[0],
            remedy="It may have been taken back: open Findings anew.",
        )
    left = {id_: one for id_, one in state.observations.items() if id_ not in ids}
    return replace(state, observations=left)


def turned(aside: Collection[str], ids: Collection[str]) -> tuple[str, ...]:
    """What is set aside after *ids* were turned over: all of them out, or all back in."""
    now = set(aside) - set(ids) if set(ids) <= set(aside) else set(aside) | set(ids)
    return tuple(sorted(now))


def weights(
    state: DossierState,
    tree: PartsTree,
    names: FeatureNames,
    finding: Mapping[str, Any],
    aside: Collection[str] = (),
) -> tuple[PartWeight, ...]:
    """The parts that the date rests on: those with something set aside, then by influence.

    Parameters
    ----------
    state
        The whole state.
    finding
        JSON form of the date finding of *state* without those in *aside*.
    """
    of_part: dict[str, list[Weight]] = {}
    for seen in state.observations.values():
        found = finding["observations"].get(seen.id)
        if seen.id in aside:
            weight = Weight(
                seen.id, observation_label(seen, tree, names), "", "", surprising=False, aside=True
            )
        elif found is not None and found["used"]:
            weight = _weighed(seen, tree, names, found)
        else:
            continue
        of_part.setdefault(seen.part, []).append(weight)
    made = [
        _part(part, part_label(tree, part), ones, finding["part_influence"].get(part))
        for part, ones in of_part.items()
    ]
    return tuple(
        sorted(made, key=lambda one: (not any(w.aside for w in one.observations), -one.moved))
    )


def features_seen(state: DossierState, chronology: Chronology) -> tuple[str, ...]:
    """The features of the chronology of which a variant was read, in its order."""
    seen = {one.feature for one in state.observations.values() if one.variant}
    return tuple(row.id for row in chronology.features if seen & {row.id, *row.also})


def own_points(
    state: DossierState, chronology: Chronology, finding: Mapping[str, Any]
) -> dict[str, tuple[CensusPoint, ...]]:
    """A point for this instrument beside each change-over; none where no date is given."""
    interval = finding["completion"]["interval"]["90"]
    if interval is None:
        return {}
    months, median = _period(interval), parse_month(finding["completion"]["median"])
    found: dict[str, tuple[CensusPoint, ...]] = {}
    for id_ in features_seen(state, chronology):
        row = chronology.feature(id_)
        assert row is not None
        of_row = [one for one in state.observations.values() if one.feature in {row.id, *row.also}]
        variants = dict.fromkeys(one.variant for one in of_row if one.variant)
        found[id_] = tuple(
            CensusPoint(state.instrument.tag, months, median, variant, teaches=False, here=True)
            for variant in variants
        )
    return found


def nearest_first(
    views: Sequence[ChangeView], finding: Mapping[str, Any]
) -> tuple[ChangeView, ...]:
    """Order change-overs by how near their half-way months lie to the middle of the date."""
    median = finding["completion"]["median"]
    if median is None:
        return tuple(views)
    month = parse_month(median)

    def away(view: ChangeView) -> int:
        halves = [one.reached(0.5) for one in view.changes]
        near = [abs(half - month) for half in halves if half is not None]
        return min(near, default=month)

    return tuple(sorted(views, key=away))


def _part(
    part: str, label: str, ones: Sequence[Weight], out: Mapping[str, Any] | None
) -> PartWeight:
    return PartWeight(
        part=part,
        label=label,
        without="" if out is None else span_words(_period(out["interval"]["90"])),
        moved=0.0 if out is None else float(out["total_variation"]),
        aside=all(one.aside for one in ones),
        observations=tuple(ones),
    )


def _weighed(
    seen: Observation, tree: PartsTree, names: FeatureNames, found: Mapping[str, Any]
) -> Weight:
    out, mid_p = found["leave_one_out"], found["surprise"]
    named = [one["period"] for one in found["readings"] or () if one.get("period")]
    own = dict.fromkeys(span_words(_period(one)) for one in named)
    return Weight(
        id=seen.id,
        label=observation_label(seen, tree, names),
        own=" or ".join(own),
        without="" if out is None else span_words(_period(out["interval"]["90"])),
        surprising=mid_p is not None and mid_p < SURPRISING,
        aside=False,
    )


def _period(months: Any) -> Period:
    return Period.parse(list(months) if isinstance(months, tuple) else months)
