"""The weekly panel as the lamp's page shows it: what the last photograph said, and when it is due.

A week is common practice, no source. What is compared is told in ``luminescence.panel``; here is
only the series of this dossier, for a panel that was given a dossier of its own is looked up there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from heelstamp.casework.panel import ADVICE, LIGHT, QUANTITIES, SLOT, panel_log
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.entries import parse_time

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class PanelView:
    """Sentences about the panel, whether a photograph is due, and frames not measured yet."""

    last: str
    due: bool
    sentences: tuple[str, ...]
    unmeasured: tuple[str, ...]


def panel_view(state: DossierState, now: str) -> PanelView:
    """Give what the panel's series says at *now*."""
    measured = {
        frame for one in state.measurements.values() if one.quantity in QUANTITIES
        for frame in one.frames
    }  # fmt: skip
    waiting = tuple(
        one.id for one in state.photographs.values()
        if one.slot == SLOT and one.light == LIGHT and one.id not in measured
    )  # fmt: skip
    if not measured:
        return PanelView("", True, (), waiting)
    log = panel_log(state)
    day = log.days[-1]
    since = parse_time(now) - parse_time(day.at)
    ago = f"{since.days} day{'' if since.days == 1 else 's'} ago"
    told = f"{day.drift.state.value}, {day.at[:10]} ({ago})"
    return PanelView(told, since >= WEEK, (*log.sentences[:-1], ADVICE[day.drift.state]), waiting)
