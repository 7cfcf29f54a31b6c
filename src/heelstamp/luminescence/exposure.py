"""How long eyes may be near a UV-A lamp.

ICNIRP, Guidelines on limits of exposure to ultraviolet radiation, Health Physics 87(2) (2004)
171-186: radiant exposure of the unprotected eye to 315-400 nm at most 10 000 J/m² within eight
hours. The limit for 180-400 nm, weighted for skin and cornea, is another one and is not computed
here: a lamp that also emits below 315 nm needs it.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.errors import InputError

UVA_EYE_LIMIT_J_M2 = 1.0e4
WORKING_DAY_S = 8 * 3600.0
GOGGLES = (
    "Wear UV goggles, cover the skin, keep the lamp away from faces; anyone else in the room wears "
    "them too, or leaves. Log the seconds: the limit counts the "
    "whole working day."
)


@dataclass(frozen=True, slots=True)
class Dose:
    """What an eye has received, J/m², and how many seconds are left at the same irradiance."""

    received: float
    share: float
    seconds_left: float
    over: bool


def permitted_seconds(irradiance: float) -> float:
    """The seconds after which the eye limit is reached; at most eight hours.

    Parameters
    ----------
    irradiance
        UV-A irradiance at the eye, W/m², above nought.

    Raises
    ------
    InputError
        Nought, negative or not finite.
    """
    return min(WORKING_DAY_S, UVA_EYE_LIMIT_J_M2 / _checked(irradiance))


def dose(irradiance: float, seconds: float, *, earlier: float = 0.0) -> Dose:
    """The dose of *seconds* at *irradiance* W/m² on top of *earlier* J/m² of the same day."""
    if not 0 <= seconds < float("inf") or not 0 <= earlier < float("inf"):
        raise InputError(
            "a time or a dose below nought",
            where="UV-A dose",
            received=(seconds, earlier),
            remedy="Give the seconds that the lamp was on.",
        )
    received = earlier + _checked(irradiance) * seconds
    left = max(0.0, (UVA_EYE_LIMIT_J_M2 - received) / irradiance)
    return Dose(received, received / UVA_EYE_LIMIT_J_M2, left, received > UVA_EYE_LIMIT_J_M2)


def _checked(irradiance: float) -> float:
    if not 0 < irradiance < float("inf"):
        raise InputError(
            "an irradiance that no lamp has",
            where="UV-A dose",
            received=irradiance,
            remedy="Give W/m² at the eye, from the lamp's data sheet or a meter.",
        )
    return irradiance
