"""The UV lamp: how near the eyes came to the limit, and whether the weekly panel drifted."""

from __future__ import annotations

from typing import Literal

from heelstamp.wording.sentences import sentence

Drifted = Literal["steady", "drifted", "cannot compare"]
ADVICE: dict[Drifted, str] = {
    "steady": "Patch maps of this week may be compared with earlier ones.",
    "drifted": "Look at lamp, filter, distance and warm-up before any map is compared with an "
    "earlier one; a fading panel looks the same.",
    "cannot compare": "Photograph the panel in its place, with the settings of the first time and "
    "the grey standard beside it.",
}
"""What to do after a panel photograph."""


@sentence("lamp limit", "measured", 1)
def limit(*, irradiance: float, permitted_min: float) -> str:
    """The time, in minutes, that eyes may be under an irradiance in W/m²."""
    return (
        f"At {irradiance:g} W/m² eyes without goggles reach the limit of a working day after "
        f"{permitted_min:.1f} min."
    )


@sentence("lamp day", "measured", 1)
def day(
    *, day: str, minutes: float, received: float, share: float, left_min: float, over: bool
) -> str:
    """One day under the lamp: dose in J/m², share of the limit, minutes left."""
    left = "over the limit: no more today" if over else f"{left_min:.1f} min left"
    return (
        f"{day}: {minutes:.1f} min, {received:.0f} J/m², {100 * share:.0f} % of the limit; {left}."
    )


@sentence("lamp one dossier", "opinion", 14)
def one_dossier() -> str:
    return "Only what this dossier records is counted."


@sentence("panel day", "measured", 6)
def panel_day(*, day: str, frame: str, state: Drifted, because: str, uncertainty: float) -> str:
    """What one photograph of the panel says; *uncertainty* is of the ratio to the first."""
    if state == "cannot compare":
        return f"{day}, frame {frame}: cannot compare, because {because}."
    return f"{day}, frame {frame}: {state}: {because} (± {uncertainty:.2f})."


@sentence("panel advice", "opinion", 6)
def panel_advice(*, state: Drifted) -> str:
    return ADVICE[state]
