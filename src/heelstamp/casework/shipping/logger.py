"""A logger's table of temperature and humidity: read, summed up, and when the parcel may be opened.

The columns are found by their names: a time, a temperature in °C or °F, a relative humidity. The
release follows `heelstamp.mechanics.condensation` (dew point by the Magnus form, WMO-No. 8, annex
4.B) from the last hour of the log: the air inside warms toward the room, and the parcel stays
closed until it clears the dew point of the room by the margin. A parcel that was cold stays closed
for a day besides (common practice, no source): wood and metal lag behind the air that is read.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from heelstamp.casework.spreadsheet.cells import number_text
from heelstamp.casework.spreadsheet.sheet import Sheet
from heelstamp.errors import InputError
from heelstamp.mechanics.condensation import CaseReading, SafeToOpen, safe_to_open
from heelstamp.mechanics.estimate import Estimate
from heelstamp.wording import about_shipping as about

DayOrder = Literal["", "dmy", "mdy"]
LOGGER_C, ROOM_C, ROOM_RH = 0.5, 0.5, 3.0
"""Standard uncertainties of a small logger and of the readings of the room (common practice)."""
COLD_C = 10.0
COLD_HOURS = 24
TAIL = timedelta(hours=1)
MOST_ROWS = 200_000
_DAY = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})[ T,]+(\d{1,2}):(\d{2})(?::(\d{2}))?")
_NAMES = {
    "time": ("time", "date", "zeit", "datum"),
    "temperature": ("temp", "°c", "°f"),
    "humidity": ("humid", "rh", "r.h.", "feucht"),
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One row: when, °C, and % relative humidity or None."""

    at: datetime
    celsius: float
    humidity: float | None


@dataclass(frozen=True)
class Journey:
    """What a logger saw, and when the parcel may be opened.

    Attributes
    ----------
    coldest, warmest, steepest
        °C, °C, and the largest change within an hour in K.
    driest, dampest
        % relative humidity; None where the logger has none.
    release
        By the clock of the logger; None where it cannot be said.
    sentences
        All of it in words.
    """

    first: datetime
    last: datetime
    count: int
    coldest: float
    warmest: float
    steepest: float
    driest: float | None
    dampest: float | None
    safe: SafeToOpen
    release: datetime | None
    sentences: tuple[str, ...]

    @property
    def open_now(self) -> bool:
        """Whether it might have been opened at the last reading."""
        return self.release is not None and self.release <= self.last


def read_log(sheet: Sheet, *, order: DayOrder = "") -> tuple[Reading, ...]:
    """Read a logger's table; rows without a temperature are passed over.

    Parameters
    ----------
    order
        Of day and month, where the file writes them both ways.

    Raises
    ------
    InputError
        No column of times or temperatures, a time that cannot be read or runs backwards, days that
        may be months, fewer than two rows.
    """
    head, names, rows = _table(sheet)
    where = sheet.name
    at = _column(names, "time", where)
    warm = _column(names, "temperature", where)
    damp = next((i for i, one in enumerate(names) if _named(one, "humidity")), None)
    fahrenheit = "°f" in names[warm] or "(f)" in names[warm] or "fahrenheit" in names[warm]
    told = [(number, cells) for number, cells in rows if number > head and _has(cells, at, warm)]
    times = _times([(number, cells[at]) for number, cells in told], order, where)
    found: list[Reading] = []
    for (number, cells), time in zip(told, times, strict=True):
        value = _number(cells[warm], f"{where}, row {number}, temperature")
        celsius = (value - 32.0) / 1.8 if fahrenheit else value
        if not -60.0 <= celsius <= 80.0:
            raise InputError(
                "a temperature that no parcel has",
                where=f"{where}, row {number}",
                received=cells[warm],
                remedy="Name the unit in the head: Temperature (°C) or (°F).",
            )
        if found and time <= found[-1].at:
            raise InputError(
                "the time does not run forward",
                where=f"{where}, row {number}",
                received=f"{time:%Y-%m-%d %H:%M}, after {found[-1].at:%Y-%m-%d %H:%M}",
                remedy="Read the logger out again; give --dates where day and month are exchanged.",
            )
        text = cells[damp] if damp is not None and damp < len(cells) else ""
        humidity = _number(text, f"{where}, row {number}, humidity") if text else None
        found.append(Reading(time, celsius, humidity))
    if len(found) < 2:
        raise InputError("fewer than two readings", where=where, remedy="Give the whole file.")
    return tuple(found)


def journey(readings: Sequence[Reading], *, room_c: float, room_rh: float) -> Journey:
    """Sum a journey up and judge when the parcel may be opened.

    Parameters
    ----------
    room_c, room_rh
        °C and % relative humidity of the room where it stands, closed.
    """
    last = readings[-1]
    tail = [one for one in readings if last.at - one.at <= TAIL] or [last]
    start = tail[0].at
    points = tuple(
        CaseReading((one.at - start).total_seconds() / 3600, _estimate(one.celsius, LOGGER_C))
        for one in ((tail[0], last) if len(tail) > 1 else (last,))
    )
    safe = safe_to_open(points, _estimate(room_c, ROOM_C), _estimate(room_rh, ROOM_RH))
    coldest = min(one.celsius for one in readings)
    cold = [one.at for one in readings if one.celsius < COLD_C]
    wait = safe.wait_to_h
    release = None if wait is None else last.at + timedelta(hours=wait)
    if release is not None and cold:
        release = max(release, cold[-1] + timedelta(hours=COLD_HOURS))
    damp = [one.humidity for one in readings if one.humidity is not None]
    warmest, steepest = max(one.celsius for one in readings), _steepest(readings)
    told = [
        about.journey.say(
            first=f"{readings[0].at:%Y-%m-%d %H:%M}",
            last=f"{last.at:%Y-%m-%d %H:%M}",
            coldest=coldest,
            warmest=warmest,
            steepest=steepest,
        ),
        *safe.reasons,
    ]
    if cold:
        told.append(about.was_cold.say(limit=COLD_C, hours=COLD_HOURS))
    told.append(
        about.release_unknown.say()
        if release is None
        else about.release.say(at=f"{release:%Y-%m-%d %H:%M}")
    )
    return Journey(
        readings[0].at,
        last.at,
        len(readings),
        coldest,
        warmest,
        steepest,
        min(damp, default=None),
        max(damp, default=None),
        safe,
        release,
        tuple(told),
    )


def _estimate(value: float, uncertainty: float) -> Estimate:
    return Estimate.of(value, uncertainty, "reading")


def _steepest(readings: Sequence[Reading]) -> float:
    """The largest difference between two readings at most an hour apart, K."""
    most = 0.0
    high: deque[Reading] = deque()  # falling, and rising: the first of each is the extreme
    low: deque[Reading] = deque()
    for one in readings:
        while high and high[-1].celsius <= one.celsius:
            high.pop()
        while low and low[-1].celsius >= one.celsius:
            low.pop()
        high.append(one)
        low.append(one)
        for ends in (high, low):
            while one.at - ends[0].at > TAIL:
                ends.popleft()
        most = max(most, high[0].celsius - low[0].celsius)
    return most


def _table(sheet: Sheet) -> tuple[int, list[str], list[tuple[int, list[str]]]]:
    """The number of the row with the names, the names in lower case, and all rows as text."""
    rows = [(number, [cell.text.strip() for cell in cells]) for number, cells in sheet.rows]
    heads = [(0, [one.strip() for one in sheet.columns]), *rows[:60]]
    for number, cells in heads:
        low = [one.casefold() for one in cells]
        if any(_named(one, "temperature") for one in low) and any(
            _named(one, "time") for one in low
        ):
            return number, low, rows
    raise InputError(
        "no row names a time and a temperature",
        where=sheet.name,
        received=", ".join(one for one in sheet.columns if one)[:120],
        remedy="Name the columns, such as Time, Temperature (°C), RH (%).",
    )


def _named(name: str, what: str) -> bool:
    return any(word in name for word in _NAMES[what])


def _column(names: Sequence[str], what: str, where: str) -> int:
    found = next((i for i, one in enumerate(names) if _named(one, what)), None)
    if found is None:
        raise InputError(f"no column of {what}", where=where, received=", ".join(names))
    return found


def _has(cells: Sequence[str], *places: int) -> bool:
    return all(place < len(cells) and cells[place] for place in places)


def _number(text: str, where: str) -> float:
    bare = text.replace("°C", "").replace("°F", "").replace("%", "").strip()
    mark: Literal[".", ","] = "," if "," in bare and "." not in bare else "."
    try:
        return float(number_text(bare, mark))
    except ValueError:
        raise InputError("not a number", where=where, received=text) from None


def _times(cells: Sequence[tuple[int, str]], order: DayOrder, where: str) -> list[datetime]:
    parts = [_DAY.fullmatch(text) for _, text in cells]
    named = [one for one in parts if one is not None]
    chosen = order or _order(named, where)
    found = []
    for (number, text), match in zip(cells, parts, strict=True):
        try:
            if match is None:
                time = datetime.fromisoformat(text)
                found.append(time.replace(tzinfo=None))
                continue
            first, second, year = int(match[1]), int(match[3]), int(match[4])
            day, month = (first, second) if chosen == "dmy" else (second, first)
            clock = int(match[5]), int(match[6]), int(match[7] or 0)
            found.append(datetime(year, month, day, *clock))  # noqa: DTZ001 (the logger's clock)
        except ValueError:
            raise InputError(
                "not a time",
                where=f"{where}, row {number}",
                received=text,
                remedy="Write it as 2026-11-02 09:14, or give the order of day and month.",
            ) from None
    return found


def _order(matches: Sequence[re.Match[str]], where: str) -> DayOrder:
    if not matches:
        return "dmy"
    if any(int(one[1]) > 12 for one in matches) or all(one[2] == "." for one in matches):
        return "dmy"
    if any(int(one[3]) > 12 for one in matches):
        return "mdy"
    raise InputError(
        "day and month cannot be told apart",
        where=where,
        received=matches[0][0],
        remedy="Give the order: dmy where the day comes first, mdy where the month does.",
    )
