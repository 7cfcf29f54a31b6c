"""The weekly panel in a dossier: what is entered of one photograph, and the series read back.

A photograph with slot ``panel`` and light UV-A leaves three measurements, ``panel glow, red``,
``green`` and ``blue`` (share of the camera's range, linear), each naming the frame, the camera's
settings and whether stray light was taken away. One dossier holds one panel: give the
panel a dossier of its own, or keep it with an instrument that stays. What is compared and how is
told in ``luminescence.panel``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.bodies.quantities import PANEL_GLOW
from heelstamp.errors import ConflictError, InputError
from heelstamp.luminescence.panel import CHANNELS, Drift, PanelReading, drift
from heelstamp.wording import about_lamp

SLOT, LIGHT, PART = "panel", "UV-A", "finish"
TAKEN_AWAY = "taken away"


@dataclass(frozen=True, slots=True)
class PanelDay:
    """One panel photograph: when it was entered, its frame, its reading, and what it says."""

    at: str
    frame: str
    reading: PanelReading
    drift: Drift


@dataclass(frozen=True, slots=True)
class PanelLog:
    """All panel photographs of a dossier, in order."""

    days: tuple[PanelDay, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """The log in words, the last photograph with its advice."""
        told = [
            about_lamp.panel_day.say(
                day=one.at[:10],
                frame=one.frame,
                state=one.drift.state.value,
                because=one.drift.because,
                uncertainty=max(one.drift.to_first_uncertainty or (0.0,)),
            )
            for one in self.days
        ]
        return (*told, self.advice)

    @property
    def advice(self) -> str:
        """What to do after the last photograph."""
        return about_lamp.panel_advice.say(state=self.days[-1].drift.state.value)

    def data(self) -> dict[str, Any]:
        """The log as plain values."""
        return {
            "state": self.days[-1].drift.state.value,
            "advice": self.advice,
            "days": [
                {
                    "at": one.at,
                    "frame": one.frame,
                    "glow": list(one.reading.glow),
                    "uncertainty": list(one.reading.uncertainty),
                    "settings": one.reading.settings,
                    "stray_known": one.reading.stray_known,
                    "state": one.drift.state.value,
                    "because": one.drift.because,
                    "to_first": one.drift.to_first,
                    "to_first_uncertainty": one.drift.to_first_uncertainty,
                    "to_rolling": one.drift.to_rolling,
                }
                for one in self.days
            ],
        }


def panel_entries(
    state: DossierState, frame: str, reading: PanelReading, ids: tuple[str, str, str]
) -> list[NewEntry]:
    """The three entries that keep a reading.

    Raises
    ------
    InputError
        The frame is not one of the panel under UV-A.
    ConflictError
        The frame is entered already.
    """
    entry = state.photographs.get(frame)
    if entry is None or entry.slot != SLOT or entry.light != LIGHT:
        raise InputError(
            "not a photograph of the panel under the lamp",
            where=f"{state.instrument.tag}, frame {frame}",
            received="no such frame"
            if entry is None
            else f"{entry.slot or 'no slot'}, {entry.light}",
            remedy=f"Add it with slot={SLOT} and light={LIGHT}.",
        )
    if any(one.panel is not None and frame in one.frames for one in state.measurements.values()):
        raise ConflictError(
            "this panel photograph is entered already",
            where=f"{state.instrument.tag}, frame {frame}",
            remedy="Correct its entries, or take a new photograph.",
        )
    shot = {
        "settings": reading.settings,
        "stray_light": TAKEN_AWAY if reading.stray_known else "unknown",
    }
    rows = zip(ids, CHANNELS, reading.glow, reading.uncertainty, strict=True)
    return [
        NewEntry(
            "measurement",
            {
                "id": id_,
                "quantity": PANEL_GLOW,
                "panel": {"channel": channel, **shot},
                "part": PART,
                "value": round(value, 6),
                "unit": "1",
                "stage": "found",
                "uncertainty": round(doubt, 6),
                "frames": [frame],
            },
        )
        for id_, channel, value, doubt in rows
    ]


def panel_log(state: DossierState) -> PanelLog:
    """Read the series back and compare each photograph with those before it.

    Raises
    ------
    InputError
        No panel photograph was measured in this dossier.
    """
    found: dict[str, dict[str, tuple[float, float]]] = {}
    about: dict[str, tuple[str, str, bool]] = {}
    for id_, one in state.measurements.items():
        if one.panel is not None and len(one.frames) == 1:
            found.setdefault(one.frames[0], {})[one.panel.channel] = (one.value, one.uncertainty)
            stray = one.panel.stray_light == TAKEN_AWAY
            about[one.frames[0]] = (state.entered[id_].at, one.panel.settings, stray)
    whole = [frame for frame, parts in found.items() if len(parts) == len(CHANNELS)]
    if not whole:
        raise InputError(
            "no photograph of the panel was measured",
            where=state.instrument.tag,
            remedy=f"Add one with slot={SLOT}, light={LIGHT}, then measure it: heelstamp panel.",
        )
    days: list[PanelDay] = []
    for frame in sorted(whole, key=lambda f: about[f][0]):
        at, settings, stray = about[frame]
        glow, doubt = _columns(found[frame])
        reading = PanelReading(glow, doubt, settings, stray)
        days.append(PanelDay(at, frame, reading, drift([*(d.reading for d in days), reading])))
    return PanelLog(tuple(days))


def _columns(
    parts: Mapping[str, tuple[float, float]],
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    red, green, blue = (parts[name] for name in CHANNELS)
    return (red[0], green[0], blue[0]), (red[1], green[1], blue[1])
