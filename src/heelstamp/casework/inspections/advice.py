"""From an outlook to advice: do it, it may be done, or do not; each with its sentences.

The thresholds are our choice (``docs/methods/inspection.md``). What opens nothing is done when it
tells anything; an opening must pay by a month of range, by words about a part already examined, or
by money. Consent refused or missing and a recorded sign of the stop table come before any gain.
Where the completion date is withheld, gains on it count for nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.feature_names import reader_words
from heelstamp.casework.inspections.measures import Outlook
from heelstamp.casework.inspections.option import Advice
from heelstamp.casework.inspections.stop_rules import Stopped
from heelstamp.wording import about_inspections as about

NO_BITS, NO_MONTHS, NO_CHANCE = 0.02, 0.5, 0.02
"""Gains below all of these count as nothing."""

LOOK_BITS, LOOK_CHANCE = 0.05, 0.1
"""What is enough to look at something without opening anything."""

OPENING_MONTHS, OPENING_CHANCE, MONEY_SHARE = 1.0, 0.25, 0.05
"""What is enough for an opening: months of range, chance of other words, share of the money."""

MOST_PARTS = 3
"""Parts whose gain is told in a sentence each."""


@dataclass(frozen=True)
class Judged:
    """Advice with its sentences, the deciding one first."""

    advice: Advice
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Weighed:
    """What is weighed of one option.

    Attributes
    ----------
    opens
        Something is to be opened or loosened.
    dated
        A completion date stands; when it is withheld, gains on it count for nothing.
    labels
        Names of parts, by key.
    tells_of, examined
        Keys of the parts it tells of directly, and of those looked at before.
    need_consent
        Acts that the owner refused, and acts nobody asked about.
    money_told, regret_told
        The expected falls of the money figure and of the seller's regret with their unit.
    """

    id: str
    outlook: Outlook
    opens: bool
    dated: bool
    labels: dict[str, str]
    tells_of: tuple[str, ...]
    examined: frozenset[str]
    refused: tuple[str, ...]
    not_asked: tuple[str, ...]
    stopped: tuple[Stopped, ...]
    money_told: str
    regret_told: str = ""

    @property
    def date_bits(self) -> float:
        """Expected gain on a date that stands."""
        return self.outlook.date_bits if self.dated else 0.0

    @property
    def months(self) -> float:
        """Expected fall of the width of the printed range."""
        return self.outlook.width_now - self.outlook.width if self.dated else 0.0

    def label(self, part: str) -> str:
        """Name a part."""
        return self.labels.get(part, part.replace("_", " "))

    @property
    def first_looks(self) -> tuple[str, ...]:
        """Parts it tells of that were never looked at."""
        return tuple(part for part in self.tells_of if part not in self.examined)


def judge(one: Weighed) -> Judged:
    """Advise on one option."""
    gains = describe_gains(one)
    if one.stopped:
        first = [describe_stop(each) for each in one.stopped]
        return Judged("stop", (*first, *gains))
    if one.refused or one.not_asked:
        acts = one.refused or one.not_asked
        say = about.refused if one.refused else about.ask
        asked = say.say(acts=[reader_words(act) for act in acts])
        return Judged("stop", (asked, *gains))
    if _is_nothing(one):
        return Judged("stop", (about.no_decision.say(),))
    return Judged("do" if _is_worth(one) else "optional", gains)


def describe_stop(one: Stopped) -> str:
    """Return why a recorded sign refuses an act, and what may be said instead."""
    rule = one.rule
    return about.stopped.say(
        act=reader_words(one.act), why=rule.why, instead=rule.instead, consequence=rule.consequence
    )


def _is_nothing(one: Weighed) -> bool:
    look = one.outlook
    return (
        max(one.date_bits, *look.part_bits.values()) < NO_BITS
        and one.months < NO_MONTHS
        and look.any_words < NO_CHANCE
        and not _pays(look)
    )


def _is_worth(one: Weighed) -> bool:
    look = one.outlook
    if one.opens:
        return one.months >= OPENING_MONTHS or look.any_words >= OPENING_CHANCE or _pays(look)
    bits = max(one.date_bits, *(look.part_bits[part] for part in one.tells_of), 0.0)
    return (
        one.months >= NO_MONTHS or bits >= LOOK_BITS or look.any_words >= LOOK_CHANCE or _pays(look)
    )


def _pays(look: Outlook) -> bool:
    if look.money is None or not look.money_now:
        return False
    return look.money >= MONEY_SHARE * look.money_now


def describe_gains(one: Weighed) -> tuple[str, ...]:
    """Return the gains that count in sentences, that on the date first."""
    look = one.outlook
    told: list[str] = []
    if one.date_bits >= NO_BITS or one.months >= NO_MONTHS:
        told.append(
            about.range_gain.say(
                before=look.width_now,
                after=look.width,
                bits=look.date_bits,
                error=look.date_error,
                chance=look.ends_move,
            )
        )
    told += [_describe_part(one, part) for part in _worth_naming(one)]
    if _pays(look):
        told.append(about.money_gain.say(fall=one.money_told))
        if one.regret_told:
            told.append(about.regret_gain.say(fall=one.regret_told))
    if one.first_looks:
        told.append(about.first_look.say(parts=[one.label(part) for part in one.first_looks]))
    if not told:
        told.append(about.no_decision.say())
    return tuple(told)


def _worth_naming(one: Weighed) -> list[str]:
    """The parts it is worth telling of: examined before, much learned or the words changed."""
    look = one.outlook
    counted = [
        part
        for part, bits in look.part_bits.items()
        if part in one.examined
        and (
            look.words_change[part] >= OPENING_CHANCE or (part in one.tells_of and bits >= NO_BITS)
        )
    ]
    return sorted(counted, key=lambda part: -look.part_bits[part])[:MOST_PARTS]


def _describe_part(one: Weighed, part: str) -> str:
    look = one.outlook
    return about.part_gain.say(
        part=one.label(part),
        bits=look.part_bits[part],
        error=None if look.part_error is None else look.part_error[part],
        chance=look.words_change[part],
    )
