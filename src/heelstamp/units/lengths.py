"""Lengths as a bench reads them: millimetres, or inches in decimals and sixty-fourths.

Records keep millimetres; an inch is 25.4 mm exactly (agreement of 1959, see `quantity`). What a
person typed in inches is kept beside the value in the words in which it was typed, so that a stamp
of the unit can be found again.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.units.quantity import Quantity

LengthUnit = Literal["mm", "in"]
LENGTH_UNITS: tuple[LengthUnit, ...] = ("mm", "in")
LONGEST_MM = 5000.0
"""No length at this bench is longer; a longer one is a stamp of the unit."""
_LENGTH = re.compile(
    r"(?P<sign>[+\u2212-]?)\s*(?:(?P<whole>\d{1,5})\s+)?(?:(?P<top>\d{1,5})\s*/\s*(?P<under>\d{1,4})"
    r"|(?P<number>\d{1,6}(?:\.\d{0,6})?|\.\d{1,6}))\s*(?P<unit>mm|in|inch|\"|\u2033)?",
    re.ASCII,
)
_MILLIMETRES = re.compile(
    r"(?P<first>[+\u2212-]?\d+(?:\.\d+)?)(?: (?P<link>±|and|to|/) (?P<second>\d+(?:\.\d+)?))? mm"
    r"(?![\w/])",
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class TypedLength:
    """A length in mm, and as it was typed where that was in inches (else empty)."""

    mm: float
    typed: str = ""


def read_length(text: str, unit: LengthUnit, *, where: str = "") -> TypedLength:
    """Read a length: ``1.6``, ``0.063``, ``5/64``, ``1 1/2``; a unit behind it goes first.

    Raises
    ------
    InputError
        Another form, a decimal comma, a fraction over nothing, or longer than any here.

    Examples
    --------
    >>> read_length("4/64", "in")
    TypedLength(mm=1.5875, typed='4/64 in')
    """
    match = _LENGTH.fullmatch(text.strip())
    whole_before_decimals = match is not None and match["whole"] and match["number"]
    if match is None or whole_before_decimals or int(match["under"] or 1) == 0:
        raise InputError(
            "not a length",
            where=where,
            received=text,
            remedy="Write it as 1.6, or in inches as 0.063 or 4/64; with a point, not a comma.",
        )
    size = float(match["whole"] or 0)
    size += int(match["top"]) / int(match["under"]) if match["top"] else float(match["number"])
    value = -size if match["sign"] in ("-", "\u2212") else size
    told = "mm" if match["unit"] == "mm" else "in" if match["unit"] else unit
    mm = round(Quantity(value, told).to("mm").value, 6)
    if not math.isfinite(mm) or abs(mm) > LONGEST_MM:
        raise InputError(
            "longer than anything at this bench",
            where=where,
            received=text,
            remedy=f"At most {LONGEST_MM:.0f} mm: was it typed in another unit?",
        )
    written = re.sub(r"\s*(mm|in|inch|\"|\u2033)$", "", text.strip())
    return TypedLength(mm, f"{written} in" if told == "in" else "")


def show_length(mm: float, uncertainty_mm: float, unit: LengthUnit) -> str:
    """Write a length with its uncertainty in the unit of the device, to the digits it earned.

    Examples
    --------
    >>> show_length(0.46, 0.03, "mm"), show_length(0.46, 0.03, "in")
    ('0.46 ± 0.03 mm', '0.0181 ± 0.0012 in')
    """
    told = Quantity(mm, "mm", uncertainty_mm).to(unit)
    if unit == "in" and uncertainty_mm == 0.0:
        return f"{told.value:.3f} in".replace("-", "\u2212")
    return str(told)


def with_inches(sentence: str) -> str:
    """Put inches in brackets behind every length in mm of a sentence.

    Examples
    --------
    >>> with_inches("down by 0.66 ± 0.14 mm.")
    'down by 0.66 ± 0.14 mm (0.026 ± 0.006 in).'
    """
    return _MILLIMETRES.sub(_bracketed, sentence)


def _bracketed(match: re.Match[str]) -> str:
    first = _inches(match["first"])
    link, second = match["link"], match["second"]
    if link is None:
        return f"{match[0]} ({first:.3f} in)".replace("(-", "(\u2212")
    other = _inches(second)
    if link == "±":
        told = str(Quantity(first, "in", other))
        return f"{match[0]} ({told})"
    return f"{match[0]} ({first:.3f} {link} {other:.3f} in)"


def _inches(written: str) -> float:
    return Quantity(float(written.replace("\u2212", "-")), "mm").to("in").value
