"""A plan of work told: each act's sentences, the advice, and what the strings say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.cautions import cautions_of
from heelstamp.casework.work_plan.weighing import Weighed
from heelstamp.catalogue import DossierState, WorkPlan
from heelstamp.wording import Statement
from heelstamp.wording import about_inspections as inspections
from heelstamp.wording import about_work_plan as about
from heelstamp.wording.sentences import Grounds

FIRST_STRINGS = "strings_first_set"
LOOKED = ("read", "absent")
CLEAR = ("no", "none", "not seen")


@dataclass(frozen=True, slots=True)
class Told:
    """One act with its sentences and cautions."""

    weighed: Weighed
    label: str
    sentences: tuple[Statement, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanTold:
    """The whole plan as it is read.

    Attributes
    ----------
    signed
        The plan that the owner signed last, or None.
    """

    acts: tuple[Told, ...]
    advice: Statement
    strings: Statement
    signed: WorkPlan | None

    def data(self) -> dict[str, Any]:
        """Write it as plain values."""
        return {
            "acts": [
                one.weighed.data() | {"label": one.label, "said": [s.text for s in one.sentences]}
                for one in self.acts
            ],
            "advice": self.advice.text,
            "strings": self.strings.text,
            "signed": None
            if self.signed is None
            else {
                "id": self.signed.id,
                "day": self.signed.signed,
                "by": self.signed.by,
                "acts": [one.act for one in self.signed.acts],
            },
        }


def tell_plan(
    state: DossierState, weighed: Sequence[Weighed], unit: str, *, ground: str
) -> PlanTold:
    """Say what each act would cost, end and change, and what is advised.

    Parameters
    ----------
    ground
        What the figures rest on, named where no entry does, as ``price model``.
    """
    pays = [one.act.label for one in weighed if one.act is not None and one.pays]
    return PlanTold(
        tuple(_told(one, unit, ground) for one in weighed),
        about.advice("work plan:advice", Grounds((ground,)), acts=pays),
        _strings(state),
        state.last(WorkPlan),
    )


def _told(one: Weighed, unit: str, ground: str) -> Told:
    on, name = Grounds((ground,)), f"work plan:{one.key}"
    if one.act is None:
        return Told(one, "nothing", (about.nothing(name, on),), ())
    low, usual, high = one.cost
    said: list[Statement] = []
    if one.stopped is not None:
        rule = one.stopped.rule
        said.append(
            inspections.stopped(
                name,
                Grounds((one.stopped.observation,), one.stopped.frames),
                act=one.act.label,
                why=rule.why,
                instead=rule.instead,
                consequence=rule.consequence,
            )
        )
    said.append(
        about.cost(name, on, low=low, usual=usual, high=high, minutes=one.act.minutes[1], unit=unit)
    )
    if one.gain is None and not one.wanting:
        said.append(about.no_effect(name, on))
    elif one.gain is None:
        said.append(about.not_known(name, Grounds((), (), one.wanting), wanting=one.wanting))
    else:
        gain = one.gain
        said.append(
            about.gain(
                name,
                on,
                mean=gain.mean,
                low=gain.low,
                high=gain.high,
                covers=gain.covers,
                unit=unit,
            )
        )
        if one.days_earlier is None:
            said.append(about.days_not_known(name, on))
        else:
            days, low_days, high_days = one.days_earlier
            said.append(about.days_earlier(name, on, days=days, low=low_days, high=high_days))
    looked = tuple(label for label, seen in one.spends if seen)
    said.append(
        about.spends(name, on, unlooked=one.unlooked, looked=looked)
        if one.spends
        else about.spends_nothing(name, on)
    )
    said.append(about.reversible(name, on, clause=one.act.reversible))
    cautions = dict.fromkeys(c for act in one.act.does for c in cautions_of(act.act))
    return Told(one, one.act.label, tuple(said), tuple(cautions))


def _strings(state: DossierState) -> Statement:
    looks = [
        one
        for one in state.observations.values()
        if one.sign == FIRST_STRINGS and one.status in LOOKED
    ]
    off = tuple(one.id for one in state.treatments.values() if one.act == "take strings off")
    if not looks:
        grounds = Grounds(off, (), ("the strings",))
        return about.keep_strings("work plan:strings", grounds, first_set=False, off=bool(off))
    last = looks[-1]
    grounds = Grounds((last.id,), tuple(last.frames))
    if last.is_read and last.outcome not in CLEAR:
        return about.keep_strings("work plan:strings", grounds, first_set=True, off=bool(off))
    return about.strings_looked("work plan:strings", grounds)
