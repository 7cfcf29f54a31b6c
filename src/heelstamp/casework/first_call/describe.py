"""A first call in sentences: frames, months, price, what does not fit, what would narrow it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from heelstamp.casework.first_call.asked import Asked, Question
from heelstamp.casework.first_call.record import (
    FirstCall,
    FrameSent,
    frames_of,
    sent_twice,
    unnamed,
)
from heelstamp.casework.first_call.strength import Months
from heelstamp.casework.inspections import Option
from heelstamp.units import format_month
from heelstamp.units.months import name_month
from heelstamp.valuation.money import Money
from heelstamp.wording import about_first_call as about

MOST_NARROWING = 5
LEAST_FALL = 0.5
"""Months by which a look must be expected to narrow the range to be named (our choice)."""


@dataclass(frozen=True)
class PriceTold:
    """Central 90 % of the price at the strength of telling; *refused* says why there is none."""

    low: Money | None = None
    high: Money | None = None
    refused: str = ""


@dataclass(frozen=True)
class CallTold:
    """What can be said of a call.

    Attributes
    ----------
    frames
        Each frame that is asked for, and what was sent for it.
    months
        None where no maker's chronology is asked.
    sentences
        For the shop alone: they hold a sum.
    """

    call: FirstCall
    frames: tuple[FrameSent, ...]
    months: Months | None
    price: PriceTold
    sentences: tuple[str, ...]

    @property
    def usable(self) -> int:
        """How many of the frames can be used."""
        return sum(one.done for one in self.frames)

    def data(self) -> dict[str, Any]:
        """Plain values, without secrets."""
        months = self.months
        return {
            "call": self.call.id,
            "frames": [_frame_data(one) for one in self.frames],
            "unnamed": [one.name for one in self.call.sent if not one.slot],
            "answers": dict(self.call.answers),
            "months": None
            if months is None
            else {
                "interval_90": [
                    format_month(months.range_90.first),
                    format_month(months.range_90.last),
                ],
                "median": format_month(months.middle),
                "told_bears": months.bears,
                "strength": "as told",
            },
            "price": None
            if self.price.low is None or self.price.high is None
            else {"interval_90": [self.price.low.exact(), self.price.high.exact()]},
            "said": list(self.sentences),
        }


def _frame_data(one: FrameSent) -> dict[str, Any]:
    best = one.best
    return {
        "frame": one.asked.slot,
        "label": one.asked.label,
        "pictures": len(one.pictures),
        "usable": one.done,
        "judged": []
        if best is None
        else [
            {"of": each.of, "verdict": each.verdict, "measure": each.measure, "do": each.remedy}
            for each in best.usable.judged
        ],
    }


def tell_call(
    call: FirstCall,
    asked: Asked,
    questions: Sequence[Question],
    months: Months | None,
    price: PriceTold,
) -> CallTold:
    """Say what a call comes down to."""
    frames = frames_of(call, asked)
    said = [about.nothing_seen.say(), frames_said(frames)]
    if without := unnamed(call, asked):
        said.append(about.unnamed_told.say(count=len(without)))
    said += [about.same_picture.say(name=name) for name in sent_twice(call)]
    if months is None:
        said.append(about.no_maker.say())
    else:
        said += _months_said(months, asked, questions)
        if price.low is not None and price.high is not None:
            said.append(about.price_told.say(low=str(price.low), high=str(price.high)))
        else:
            said.append(about.no_price.say(why=price.refused))
    return CallTold(call, frames, months, price, tuple(said))


def frames_said(frames: Sequence[FrameSent]) -> str:
    """Say how many frames can be used, and which are wanted."""
    return about.frames_told.say(
        usable=sum(one.done for one in frames),
        asked=len(frames),
        again=[one.asked.label for one in frames if one.pictures and not one.done],
        missing=[one.asked.label for one in frames if not one.pictures],
    )


def _months_said(months: Months, asked: Asked, questions: Sequence[Question]) -> list[str]:
    labels = {one.key: one.label for one in questions}
    if months.bears:
        ends = [name_month(one) for one in (months.range_90.first, months.range_90.last)]
        said = [
            about.months_told.say(first=ends[0], last=ends[1], middle=name_month(months.middle)),
            about.strength_told.say(serial=asked.as_told.serial, feature=asked.as_told.feature),
        ]
        if months.outside >= 0.01:
            said.append(about.outside_told.say(share=months.outside))
    else:
        before = months.before_90
        said = [
            about.months_unknown.say(first=name_month(before.first), last=name_month(before.last))
        ]
    said += [
        about.at_odds.say(label=labels.get(one.key, one.key), text=one.text)
        for one in months.at_odds
    ]
    said += [
        about.not_counted.say(label=labels.get(one.key, one.key), text=one.text, why=one.why_not)
        for one in months.told
        if one.ratio is None
    ]
    return said


def age_said(call: FirstCall, months: Months | None) -> str:
    """Say how the age that was told lies to the range; empty where none was told."""
    text = call.answers.get("age", "")
    if not text or months is None:
        return ""
    if months.claimed is None:
        return about.age_told.say(text=text, within=None)
    claimed, found = months.claimed.about, months.range_90
    return about.age_told.say(
        text=text, within=claimed.first <= found.last and found.first <= claimed.last
    )


def narrowing_said(options: Sequence[Option], unit: str) -> list[str]:
    """Say which looks are expected to narrow months and price most, without opening anything."""
    rows = [
        one
        for one in options
        if one.invasiveness == 0 and one.gain.months[0] - one.gain.months[1] >= LEAST_FALL
    ]
    rows.sort(key=lambda one: one.gain.months[1])
    return [
        about.narrows.say(
            name=one.name,
            months_now=one.gain.months[0],
            months_then=one.gain.months[1],
            money="" if not one.gain.money else f"{one.gain.money:,.0f} {unit}",
        )
        for one in rows[:MOST_NARROWING]
    ]


def rounded(price: float, currency: str) -> Money:
    """A price to two figures: a range of talk has no more."""
    step = 10 ** max(0, int(np.floor(np.log10(max(price, 1.0)))) - 1)
    return Money.nearest(price, currency).rounded_to(Money.of(step, currency))
