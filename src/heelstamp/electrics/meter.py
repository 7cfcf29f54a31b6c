"""Readings of a digital meter: value, the place of the last digit shown, and how far it may be off.

A hand-held meter of 3½ digits states its accuracy as a share of the reading plus a count of the
last digit; ±(0.5 % + 1) is common practice for resistance, no single source. The statement is a
limit; without other knowledge every error within it is as likely as another, so that the standard
uncertainty is the limit over √3 (JCGM 100:2008, 4.3.7). Does not hold for a meter with a low
battery, for fingers on the probes, or for leads whose own resistance is not nulled.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from heelstamp.errors import InputError

_FACTORS = {"": 1.0, "k": 1e3, "M": 1e6}
_READING = re.compile(
    r"(?P<digits>\d{1,7}(?:\.(?P<decimals>\d{1,4}))?)\s*(?P<factor>[kM]?)"
    r"(?:[\u03a9\u2126]|[oO]hms?)?"
)
_REMEDY = "Write it as the meter shows it, with k or M: 6.42k, 61.90k, 1.2M, or 640."


@dataclass(frozen=True, slots=True)
class Accuracy:
    """What a meter's maker states: ``share`` of the reading plus ``digits`` of the last place.

    Raises
    ------
    InputError
        A negative figure, or a share of a half and more.
    """

    share: float = 0.005
    digits: float = 1.0

    def __post_init__(self) -> None:
        if not (0.0 <= self.share < 0.5 and 0.0 <= self.digits < 1000.0):
            raise InputError(
                "no accuracy of a meter",
                where="accuracy",
                received=f"{100 * self.share:g} % + {self.digits:g} digits",
                remedy="Give what the meter's leaflet says, as 0.5 % + 1 digit.",
            )


@dataclass(frozen=True, slots=True)
class Reading:
    """A resistance in ohms with its standard uncertainty and the most it may be off.

    Attributes
    ----------
    ohm
        The value.
    standard
        Standard uncertainty, ohms.
    limit
        Largest error that the meter allows, ohms.
    """

    ohm: float
    standard: float
    limit: float

    def __post_init__(self) -> None:
        finite = all(map(math.isfinite, (self.ohm, self.standard, self.limit)))
        if not finite or self.ohm <= 0 or self.standard < 0 or self.limit < 0:
            raise InputError(
                "not a resistance",
                received=f"{self.ohm:g} Ω ± {self.standard:g} Ω",
                remedy="An open or shorted lead is no reading: look at the plug and the switch.",
            )

    @classmethod
    def known(cls, ohm: float, standard: float) -> Reading:
        """A reading whose standard uncertainty is known; limits are √3 times that."""
        return cls(ohm, standard, math.sqrt(3.0) * standard)


def read_meter(text: str, accuracy: Accuracy | None = None, *, where: str = "") -> Reading:
    """Read a resistance as a meter shows it; the last digit written is the last it shows.

    Parameters
    ----------
    text
        Such as ``6.42k``, ``61.90 kΩ``, ``1.2M`` or ``640``.
    accuracy
        ±(0.5 % + 1 digit) when absent.

    Raises
    ------
    InputError
        Another form, a decimal comma, or nothing.

    Examples
    --------
    >>> reading = read_meter("61.90k")
    >>> reading.ohm, round(reading.limit, 1)
    (61900.0, 319.5)
    """
    match = _READING.fullmatch(text.strip())
    if match is None:
        comma = "," in text
        raise InputError(
            "a decimal comma could be a thousands mark" if comma else "not a reading of a meter",
            where=where,
            received=text,
            remedy=_REMEDY,
        )
    factor = _FACTORS[match["factor"]]
    ohm = float(match["digits"]) * factor
    digit = factor * 10.0 ** -len(match["decimals"] or "")
    stated = accuracy or Accuracy()
    limit = stated.share * ohm + stated.digits * digit
    if ohm <= 0:
        raise InputError(
            "a reading of nothing",
            where=where,
            received=text,
            remedy="A short at the jack: look at the plug, the switch and the knob.",
        )
    return Reading(ohm, limit / math.sqrt(3.0), limit)
