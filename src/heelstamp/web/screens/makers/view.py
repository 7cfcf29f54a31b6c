"""What Makers shows: what is known of one maker as rows to read.

Text only, from a chronology that was read; what is not given is left out rather than guessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import reader_words
from heelstamp.chronology import Chronology
from heelstamp.chronology.change_view import CensusPoint, ChangeView, change_view, change_views
from heelstamp.chronology.records import FeatureRow, LagTable, SignRow
from heelstamp.chronology.serials import SerialCurve
from heelstamp.chronology.tables import STATES_OF
from heelstamp.report.change_calendar import change_calendar_alt, change_calendar_svg
from heelstamp.report.change_over import change_over_alt, change_over_svg
from heelstamp.report.serial_curve import serial_curve_alt, serial_curve_svg
from heelstamp.units import format_month, name_month, parse_month
from heelstamp.web.rendering import drawn

RETROFITS = ("no", "refinish only", "hard", "medium", "easy")


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


def maker_view(it: Chronology) -> dict[str, Any]:
    """Lay out one chronology."""
    views, curve = change_views(it), SerialCurve.of(it)
    spread = it.serial.spread_months if it.serial else 0.0
    first, last = parse_month(it.production.first), parse_month(it.production.last)
    return {
        "it": it,
        "calendar": drawn(change_calendar_svg(views, (first, last))) if views else "",
        "calendar_words": change_calendar_alt(views),
        "serial_curve": drawn(serial_curve_svg(curve, spread)) if curve else "",
        "serial_words": serial_curve_alt(curve, spread) if curve else "",
        "features": feature_lines(it),
        "delays": lag_lines(it),
        "signs": sign_tables(it),
        "first": name_month(first),
        "last": name_month(last),
        "retrofits": RETROFITS,
        "parts": [one.key for one in it.parts],
        "with_own_delay": {one.key: one.lag for one in it.parts if one.lag is not None},
        "duplicated": "; ".join(f"{a}-{b}" for a, b in it.serial.duplicated) if it.serial else "",
    }


def feature_view(it: Chronology, row: FeatureRow, points: Sequence[CensusPoint]) -> dict[str, Any]:
    """Lay out one feature with the *points* of the census beside it."""
    place = it.features.index(row)
    view = change_view(it, row.id, points)
    return {
        "it": it,
        "row": row,
        "drawing": drawn(change_over_svg(view)),
        "words": change_over_alt(view),
        "points": point_lines(points),
        "curves": curve_lines(view),
        "exceptions": [one.text for one in it.exceptions if one.feature == row.id],
        "before": it.features[place - 1] if place else None,
        "after": it.features[place + 1] if place + 1 < len(it.features) else None,
    }


def feature_lines(chronology: Chronology) -> list[FeatureLine]:
    """Every feature, in the order of the document."""
    return [
        FeatureLine(
            id=row.id,
            name=row.name,
            parts=", ".join(reader_words(one) for one in row.parts),
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
    """The lag of parts without their own, then each that has its own."""
    return [
        ("parts without their own", chronology.timing.lag),
        *((reader_words(one.key), one.lag) for one in chronology.parts if one.lag is not None),
    ]


def sign_tables(chronology: Chronology) -> list[SignTable]:
    """Every sign with its table."""
    forms = {one.key: one.form for one in chronology.parts}
    return [_sign(row, forms) for row in chronology.signs]


def _sign(row: SignRow, forms: Mapping[str, str]) -> SignTable:
    states: tuple[str, ...]
    if row.assembly is not None:
        of, states = f"the assembly {row.assembly}", ("undisturbed", "disturbed")
    elif row.openings:
        of = "openings, seen on " + ", ".join(reader_words(one) for one in row.openings)
        states = ("closed", "opened", "opened by a careful hand")
    else:
        of = ", ".join(reader_words(one) for one in row.parts)
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
    """The instruments beside a feature, by their middles."""
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
    """Each change-over's curve as months and shares, one January and one July a year."""
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
