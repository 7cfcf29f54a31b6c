"""A blank chronology of a maker of one's own: what is known of the kind, nothing of any maker.

It is made from a chronology of the same kind by taking out everything that is one maker's:
features, serial curve, ways of marking, suppliers, exceptions, delays of single parts. What is left
is common to the kind: its parts and the ways to them, shares of what was done to them, signs, steps
of access. In place of what was taken out stand wide defaults, all judgement without a source, and
the few things that the shop knows. It is never called invented: nothing invented is left in it.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.catalogue.parts import PartsTree
from heelstamp.chronology.records import CHRONOLOGY_SCHEMA
from heelstamp.errors import InputError
from heelstamp.units import Month, format_month, parse_month
from heelstamp.units.months import MONTHS_A_YEAR

LAG = {"mean": 4.0, "sd": 3.0, "tail_weight": 0.1, "tail_max": 60}
"""Months from the making of a part to completion, where nothing is known of a maker (judgement)."""

UNIFORM_SHARE = 0.05
"""Share of the prior beyond the years of production, which may be wrong (judgement)."""

MARGIN = 60
"""Months either side of production on which completion is dated."""

LOT_HABITS = {"usually": 0.8, "sometimes": 0.5, "rarely": 0.1}
"""Share of instruments whose like parts came from one lot, by the shop's word (judgement)."""

SERIAL_SPREAD, SERIAL_ERROR = 12.0, 0.02
"""Months of scatter about the curve of a maker whose scatter is not known, and share of numbers
that say nothing (judgement)."""

_KIND_WIDE = (
    "timing",
    "history",
    "assembly",
    "opening",
    "set",
    "careful",
    "screws",
    "places",
    "part",
    "sign",
    "access",
    "group_failure",
)
"""Tables of a chronology that tell of a kind of instrument, whoever made it."""

_POINT = re.compile(r"([A-Za-z]*)\s*([0-9]{1,12})[\s,;:]+(\S+)")


@dataclass(frozen=True)
class KnownOfMaker:
    """What a shop says of a maker in five minutes.

    Attributes
    ----------
    first, last
        Production: months or years, ``1957`` or ``1957-09``.
    points
        Serial numbers with their month, one a line: ``S10350 1965-06``; none where unknown.
    serial_part
        The part that carries the number.
    changes
        Changes known, one a line: part; what; old; new; first month with new; last with old.
    lots
        A key of `LOT_HABITS`.
    note
        Where this is known from.
    """

    maker: str
    model: str
    first: str
    last: str
    points: str = ""
    serial_part: str = ""
    changes: str = ""
    lots: str = "sometimes"
    note: str = ""


def blank_chronology(
    like: Mapping[str, Any], known: KnownOfMaker, *, id_: str, today: str, tree: PartsTree
) -> dict[str, Any]:
    """Make the document of a chronology.

    Parameters
    ----------
    like
        A document of the same kind of instrument, of any maker; nothing of that maker is kept.
    today
        ISO 8601 date: the edition, and the last month in which a part can have been made.
    tree
        Parts of this kind of instrument, by whose labels *known* may name them.

    Raises
    ------
    InputError
        A year, a point or a change cannot be read, or they contradict each other; names the line.
    """
    for name, value in (("maker", known.maker), ("model", known.model)):
        if not value.strip():
            raise InputError(f"no {name} is named", where=f"field {name}", remedy="Name it.")
    first, last = _end(known.first, "first"), _end(known.last, "last")
    if last < first:
        raise InputError(
            "production ends before it begins",
            where="field last",
            received=known.last,
            remedy="Give the first and the last year, or months as 1957-09.",
        )
    document: dict[str, Any] = {
        "schema": CHRONOLOGY_SCHEMA,
        "id": id_,
        "edition": today,
        "kind": like["kind"],
        "maker": known.maker.strip(),
        "model": known.model.strip(),
        "invented": False,
        "note": known.note.strip() or "Begun blank: shares and delays are judgement until learned.",
        "production": {"first": format_month(first), "last": format_month(last)},
        "grid": _grid(first, last, parse_month(today[:7]), like),
        "prior": {**like["prior"], "uniform_share": UNIFORM_SHARE, "volume": "serial"},
        **{key: copy.deepcopy(like[key]) for key in _KIND_WIDE if key in like},
    }
    document["timing"] = {
        **{key: one for key, one in document["timing"].items() if key != "lag_doubt"},
        "lag": dict(LAG),
    }
    for part in document["part"]:
        part.pop("lag", None)
    document["batch"] = _lots(like, known.lots)
    points = _points(known.points)
    numbered = str((like.get("serial") or {}).get("part", ""))
    if known.serial_part:
        numbered = tree.named(known.serial_part, where="field serial part")
    if points:
        document["serial"] = {
            "part": numbered,
            "spread_months": SERIAL_SPREAD,
            "error": SERIAL_ERROR,
            "knot": points,
        }
    features = _changes(known.changes, tree)
    if features:
        document["feature"] = features
    inspections = _inspections(like, features, serial=bool(points))
    if inspections:
        document["inspection"] = inspections
    words = {key: one for key, one in like.get("words", {}).items() if key in _spoken(document)}
    return document | ({"words": words} if words else {})


def _end(text: str, which: str) -> Month:
    told = text.strip()
    if re.fullmatch(r"[0-9]{4}", told):
        told += "-01" if which == "first" else "-12"
    try:
        return parse_month(told)
    except InputError:
        raise InputError(
            "not a year or month of production",
            where=f"field {which}",
            received=text,
            remedy="Write 1957 or 1957-09.",
        ) from None


def _grid(first: Month, last: Month, today: Month, like: Mapping[str, Any]) -> dict[str, list[str]]:
    """Completion around production; parts from the earliest one to now, or later where it must."""
    timing = like["timing"]
    begin, end = first - MARGIN, last + MARGIN
    longest = max(LAG["tail_max"], -int(timing["gap"]["first"])) + MONTHS_A_YEAR
    after = max(int(timing["later_from"]), int(timing["gap"]["last"])) + MONTHS_A_YEAR
    ends = begin - int(longest), max(today, end + after)
    return {
        "completion": [format_month(begin), format_month(end)],
        "marks": [format_month(one) for one in ends],
    }


def _lots(like: Mapping[str, Any], habit: str) -> list[dict[str, Any]]:
    if habit not in LOT_HABITS:
        raise InputError(
            "no such habit",
            where="field lots",
            received=habit,
            remedy=f"One of {', '.join(LOT_HABITS)}.",
        )
    return [{**one, "share": LOT_HABITS[habit]} for one in like.get("batch", [])]


def _points(text: str) -> list[dict[str, Any]]:
    found = []
    for number, line in _lines(text):
        match = _POINT.fullmatch(line)
        if match is None:
            raise _unread("a serial number and its month", "points", number, line, "S10350 1965-06")
        month = _month(match[3], "points", number, line)
        found.append({"prefix": match[1].upper(), "number": int(match[2]), "month": month})
    alone = [
        one["prefix"]
        for one in found
        if sum(one["prefix"] == other["prefix"] for other in found) == 1
    ]
    if alone:
        raise InputError(
            "one point makes no curve",
            where="field points",
            received=f"one number with the prefix {alone[0]!r}",
            remedy="Give two or more with each prefix, or none.",
        )
    return found


def _changes(text: str, tree: PartsTree) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for number, line in _lines(text):
        cells = [cell.strip() for cell in line.split(";")]
        if len(cells) != 6 or not all(cells):
            example = "pickguard; its screws; eight; eleven; 1959-05; 1959-09"
            raise _unread("a change", "changes", number, line, example)
        part, called, old, new, fresh, gone = cells
        found.append(
            {
                "id": f"c{len(found) + 1:02d}",
                "name": called,
                "parts": [tree.named(part, where=f"field changes, line {number}")],
                "variants": [old, new],
                "change": [
                    {
                        "first_new": _month(fresh, "changes", number, line),
                        "last_old": _month(gone, "changes", number, line),
                    }
                ],
                "retrofit": "medium",
                "seen_from": "outside",
            }
        )
    return found


def _lines(text: str) -> list[tuple[int, str]]:
    lines = [one.strip() for one in text.splitlines()]
    return [(number, one) for number, one in enumerate(lines, start=1) if one]


def _month(text: str, field: str, number: int, line: str) -> str:
    try:
        return format_month(parse_month(text))
    except InputError:
        raise _unread("a month", field, number, line, "1965-06") from None


def _unread(what: str, field: str, number: int, line: str, example: str) -> InputError:
    return InputError(
        f"this line is not {what}",
        where=f"field {field}, line {number}",
        received=line,
        remedy=f"Write it as {example}.",
    )


def _inspections(
    like: Mapping[str, Any], features: Sequence[Mapping[str, Any]], *, serial: bool
) -> list[dict[str, Any]]:
    """Looks at marks and signs of the kind, and one at each change that is known."""
    kept: list[dict[str, Any]] = [
        {
            "id": f"look_{one['id']}",
            "name": one["name"],
            "opening": "outside",
            "invasiveness": 0,
            "minutes": 2,
            "reveals": [{"kind": "feature", "feature": one["id"]}],
        }
        for one in features
    ]
    for row in like.get("inspection", []):
        shown = [
            copy.deepcopy(one)
            for one in row.get("reveals", [])
            if one["kind"] != "feature" and (serial or one["kind"] != "serial")
        ]
        if shown:
            kept.append({**row, "reveals": shown})
    return kept


def _spoken(document: Mapping[str, Any]) -> set[str]:
    """Ids for which a word may be wanted: signs and their outcomes, steps of access, looks."""
    signs: Sequence[Mapping[str, Any]] = document.get("sign", ())
    found = {one["id"] for one in signs} | {name for one in signs for name in one["outcomes"]}
    places = document.get("places") or {}
    return found | set(places.get("ratio", {})) | {places.get("sign", "")}
