"""The lamp log: how near the eyes at the bench came to the UV-A limit, from the dossier's entries.

Irradiance is a measurement in W/m² (quantity ``UV-A irradiance``, at the place of the eyes); time
is that of the entries of time under the lamp. The largest irradiance entered counts for all. The
limit is that of ``luminescence.exposure``, for eyes without goggles and for a working day; a day is
one of UTC. It counts this dossier only: the hands at the bench may have had other lamps that day.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.catalogue import DossierState, Exposure
from heelstamp.catalogue.bodies.quantities import IRRADIANCE, QUANTITIES
from heelstamp.errors import InputError
from heelstamp.luminescence.exposure import GOGGLES, Dose, dose, permitted_seconds
from heelstamp.wording import about_lamp

UNIT = QUANTITIES[IRRADIANCE].unit


@dataclass(frozen=True, slots=True)
class LampDay:
    """Minutes under the lamp on one day, and the dose without goggles."""

    day: str
    minutes: float
    dose: Dose


@dataclass(frozen=True, slots=True)
class LampLog:
    """The log of one dossier: irradiance in W/m², and days in order."""

    irradiance: float
    days: tuple[LampDay, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """The log in words, ending with the caution."""
        permitted = permitted_seconds(self.irradiance) / 60.0
        days = [
            about_lamp.day.say(
                day=one.day,
                minutes=one.minutes,
                received=one.dose.received,
                share=one.dose.share,
                left_min=one.dose.seconds_left / 60.0,
                over=one.dose.over,
            )
            for one in self.days
        ]
        first = about_lamp.limit.say(irradiance=self.irradiance, permitted_min=permitted)
        return (first, *days, GOGGLES, about_lamp.one_dossier.say())

    def data(self) -> Mapping[str, Any]:
        """The log as plain values."""
        return {
            "irradiance_w_m2": self.irradiance,
            "permitted_s": permitted_seconds(self.irradiance),
            "days": [
                {
                    "day": one.day,
                    "minutes": one.minutes,
                    "received_j_m2": one.dose.received,
                    "share": one.dose.share,
                    "seconds_left": one.dose.seconds_left,
                    "over": one.dose.over,
                }
                for one in self.days
            ],
            "caution": f"{GOGGLES} {about_lamp.one_dossier.say()}",
        }


def lamp_log(state: DossierState) -> LampLog:
    """Add up the minutes under the lamp, day by day.

    Raises
    ------
    InputError
        No irradiance above nought was entered.
    """
    levels = [
        one.measured.to(UNIT).value
        for one in state.measurements.values()
        if one.quantity == IRRADIANCE
    ]
    if not levels or max(levels) <= 0:
        raise InputError(
            "no irradiance of the lamp was entered",
            where=state.instrument.tag,
            remedy=f"Add a measurement with quantity={IRRADIANCE}, in {UNIT}, at the eyes.",
        )
    minutes: dict[str, float] = {}
    for id_, exposed in state.of(Exposure).items():
        day = state.entered[id_].at[:10]
        minutes[day] = minutes.get(day, 0.0) + (exposed.minutes or 0.0)
    level = max(levels)
    days = tuple(
        LampDay(day, total, dose(level, 60.0 * total)) for day, total in sorted(minutes.items())
    )
    return LampLog(level, days)
