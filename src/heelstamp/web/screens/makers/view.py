"""Chronologies on the bench: what is known of one maker as rows to read, and what learning moved.

Text only, from a chronology that was read; what is not given is left out rather than guessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from heelstamp.casework.census.held import Held
from heelstamp.casework.census.learn import ChangeLearned, NewEdition
from heelstamp.casework.census.redating import Redated, step_names
from heelstamp.chronology import Chronology
from heelstamp.chronology.change_view import CensusPoint, ChangeView
from heelstamp.chronology.records import FeatureRow, LagTable, SignRow
from heelstamp.chronology.tables import STATES_OF
from heelstamp.units import format_month, name_month, parse_month
from heelstamp.wording import about_census as about

RETROFITS = ("no", "refinish only", "hard", "medium", "easy")
WORDS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class FeatureLine:
    """A feature in one line of the list."""

    id: str
    name: str
    parts: str
    changes: tuple[str, ...]
    seen_from: str
    retrofit: str
    rests_on: str


@dataclass(frozen=True, slots=True)
class SignTable:
    """A sign with P(outcome) by state, as shares in text."""

    name: str
    of: str
    outcomes: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """One change-over before and after learning."""

    feature: str
    name: str
    looks: int
    before: str
    now: str
    range_90: str
    by: str


@dataclass(frozen=True, slots=True)
class PointLine:
    """One instrument beside a feature, as text."""

    id: str
    variant: str
    range_90: str
    median: str
    teaches: str


def month_named(text: str) -> str:
    """Write ``1965-03`` for a reader."""
    return name_month(parse_month(text))


def feature_lines(chronology: Chronology) -> list[FeatureLine]:
    """Give every feature, in the order of the document."""
    return [
        FeatureLine(
            id=row.id,
            name=row.name,
            parts=", ".join(one.replace("_", " ") for one in row.parts),
            changes=_changes(row),
            seen_from=row.seen_from,
            retrofit=row.retrofit,
            rests_on=_rests_on(row),
        )
        for row in chronology.features
    ]


def _changes(row: FeatureRow) -> tuple[str, ...]:
    if row.passing is not None:
        first, last = month_named(row.passing.first), month_named(row.passing.last)
        share = f"{100 * row.passing.share:.0f} %"
        return (f"{row.variants[1]}: came and went, {first} to {last}, in {share} of instruments",)
    return tuple(
        f"{row.variants[place]} → {row.variants[place + 1]}: new from "
        f"{month_named(one.first_new)}, old until {month_named(one.last_old)}"
        for place, one in enumerate(row.change)
    )


def _rests_on(row: FeatureRow) -> str:
    changes = [row.passing] if row.passing is not None else row.change
    learned = [one.learned.from_ for one in changes if one.learned is not None]
    told = [f"learned from {min(learned)} looks"] if learned else []
    told += [one.source for one in changes if one.source]
    return "; ".join(dict.fromkeys(told)) or row.source or "no source named"


def lag_lines(chronology: Chronology) -> list[tuple[str, LagTable]]:
    """Give the lag of parts without their own, then each that has its own."""
    return [
        ("parts without their own", chronology.timing.lag),
        *((one.key.replace("_", " "), one.lag) for one in chronology.parts if one.lag is not None),
    ]


def sign_tables(chronology: Chronology) -> list[SignTable]:
    """Give every sign with its table."""
    forms = {one.key: one.form for one in chronology.parts}
    return [_sign(row, forms) for row in chronology.signs]


def _sign(row: SignRow, forms: Mapping[str, str]) -> SignTable:
    states: tuple[str, ...]
    if row.assembly is not None:
        of, states = f"the assembly {row.assembly}", ("undisturbed", "disturbed")
    else:
        of = ", ".join(one.replace("_", " ") for one in row.parts)
        states = STATES_OF[forms[row.parts[0]]]
    if len(row.table) == 2:
        states = states if len(states) == 2 else ("undisturbed", "disturbed")
    return SignTable(
        row.name,
        of,
        tuple(row.outcomes),
        tuple(
            (state.replace("_", " "), tuple(f"{cell:.2f}" for cell in cells))
            for state, cells in zip(states, row.table, strict=False)
        ),
    )


def point_lines(points: Sequence[CensusPoint]) -> list[PointLine]:
    """Give the instruments beside a feature, by their middles."""
    return [
        PointLine(
            one.id,
            one.variant,
            str(one.months),
            name_month(one.median),
            "teaches" if one.teaches else "teaches nothing: dated by its features only",
        )
        for one in sorted(points, key=lambda one: (one.median, one.id))
    ]


def curve_lines(view: ChangeView) -> list[tuple[str, str, tuple[tuple[str, str], ...]]]:
    """Give each change-over's curve as months and shares, one January and one July a year."""
    return [
        (
            one.old,
            one.new,
            tuple(
                (format_month(one.first + place), f"{100 * value:.0f} %")
                for place, value in enumerate(one.values)
                if (one.first + place) % 6 == 0
            ),
        )
        for one in view.changes
    ]


def moved_lines(new: NewEdition) -> list[Moved]:
    """Give what learning moved, in the order of the document."""
    return [_moved(one) for one in new.changes]


def _moved(one: ChangeLearned) -> Moved:
    months = round(one.centre - one.old_centre)
    by = "unmoved" if not months else f"{months:+d} months".replace("-", "−")
    return Moved(
        feature=one.feature,
        name=one.name,
        looks=one.looks,
        before=f"{name_month(round(one.old_centre))}, width {one.old_width:.1f}",
        now=f"{name_month(round(one.centre))} ± {one.centre_sd:.1f}, width {one.width:.1f}",
        range_90=" to ".join(name_month(round(end)) for end in one.centre_90),
        by=by,
    )


def learned_sentences(new: NewEdition) -> list[str]:
    """Say which rows taught, and what was left as it was."""
    told = [about.census_taught.say(taught=new.taught, silent=new.silent)]
    told += [
        about.serials_learned.say(
            prefix=prefix, points=len(one.numbers), count=one.count, scatter=one.scatter
        )
        for prefix, one in new.serials.items()
    ]
    if new.kept:
        told.append(about.left_as_they_were.say(looks=new.kept))
    return told


def held_sentences(past: Held) -> list[str]:
    """Say how often ranges of 50 and of 90 % held, and how wide they were."""
    told = []
    for level in (0.5, 0.9):
        one = past.level(level)
        told.append(
            about.ranges_held.say(
                count=past.count, level=level, held=one.held, low=one.low, high=one.high
            )
        )
    wide = about.ranges_wide.say(without=past.width, with_marks=past.width_with_marks)
    return [*told, wide]


def held_lines(past: Held) -> list[tuple[str, str, str]]:
    """Give what ranges of each level were to hold, what they held, and what chance alone allows."""
    return [
        (
            f"{100 * one.level:.0f} %",
            f"{100 * one.held:.0f} %",
            f"{100 * max(0.0, one.low):.0f} to {100 * min(1.0, one.high):.0f} %",
        )
        for one in past.levels
    ]


def redated_sentences(id_: str, found: Redated) -> list[str]:
    """Say how many conclusions moved, and whether dates are now withheld or given."""
    told = [
        about.dated_again.say(
            chronology=id_, count=found.count, moved=found.moved, first=found.first
        )
    ]
    if found.withheld or found.given:
        told.append(about.dates_turned.say(withheld=found.withheld, given=found.given))
    return told


def redated_steps(found: Redated) -> list[tuple[str, int, int]]:
    """Give months moved, and how many medians and ends moved by them."""
    return [
        (name, found.median[name], found.ends[name])
        for name in step_names()
        if found.median[name] or found.ends[name]
    ]


def redated_words(found: Redated) -> list[tuple[str, str, str, int]]:
    """Give the words about parts that turned, the most frequent first."""
    return [
        (part.replace("_", " "), before, after, count)
        for (part, before, after), count in found.words_turned[:WORDS_SHOWN]
    ]


def redated_worst(found: Redated) -> list[tuple[str, str]]:
    """Give id and sentence of those that moved furthest."""
    return [
        (
            one.id,
            about.conclusion_moved.say(
                id_=one.id,
                median=one.median,
                ends=one.ends,
                turned=[
                    (part.replace("_", " "), *words) for part, words in sorted(one.turned.items())
                ],
                date=one.withheld,
            ),
        )
        for one in found.worst
    ]
