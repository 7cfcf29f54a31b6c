"""What is due as iCalendar (RFC 5545): one event a day, all day long, known again by its id.

Text is escaped (3.3.11) and lines are folded at 75 octets (3.1). No name, place or sum of a private
paper is in it beyond the sentence of what is due.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from hashlib import sha256

from heelstamp.casework.due import Due

OCTETS = 75
PRODUCT = "-//Heelstamp//Due//EN"


def calendar_text(rows: Iterable[Due], *, at: str, name: str) -> str:
    """Write a calendar.

    Parameters
    ----------
    at
        UTC time of writing, ``2026-11-02T09:14:00Z``.
    name
        Of the shop.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN"]
    lines += ["METHOD:PUBLISH", f"X-WR-CALNAME:{_text(f'{name}: due')}"]
    stamp = at.replace("-", "").replace(":", "")
    for row in rows:
        lines += _event(row, stamp, name)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _event(row: Due, stamp: str, name: str) -> Iterator[str]:
    day = date.fromisoformat(row.day)
    label = row.tag or name
    yield "BEGIN:VEVENT"
    yield f"UID:{sha256(f'{name}/{row.id}'.encode()).hexdigest()[:32]}@heelstamp.invalid"
    yield f"DTSTAMP:{stamp}"
    yield f"DTSTART;VALUE=DATE:{day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{_text(f'{label}: {row.kind}')}"
    yield f"DESCRIPTION:{_text(row.told)}"
    yield f"CATEGORIES:{_text(row.kind)}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _text(said: str) -> str:
    escaped = said.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return escaped.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")


def _folded(line: str) -> Iterator[str]:
    """Cut a line so that no part is longer than 75 octets and no character is cut in two."""
    part = ""
    for char in line:
        if len(f"{part}{char}".encode()) > OCTETS:
            yield part
            part = " "
        part += char
    yield part
