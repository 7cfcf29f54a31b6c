"""The weekly panel as the lamp's page shows it: what the last photograph said, and when it is due.

A week is common practice, no source. What is compared is told in ``luminescence.panel``. The series
is that of the dossier on the page or, where it has none, of the shop's newest dossier whose tag
holds the word ``panel``, as ``PANEL-1``: a panel best has a dossier of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from heelstamp.casework.panel import LIGHT, SLOT, panel_log
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.entries import parse_time

WEEK = timedelta(days=7)
NAMED = "panel"
"""Word in the tag of a dossier that was opened for the panel."""


@dataclass(frozen=True, slots=True)
class PanelView:
    """What the panel's series says, in whose dossier, and its frames that are not measured."""

    tag: str
    last: str
    due: bool
    sentences: tuple[str, ...]
    unmeasured: tuple[str, ...]


def panel_view(state: DossierState, now: str) -> PanelView:
    """What the panel's series says at *now*."""
    measured = {
        frame
        for one in state.measurements.values()
        if one.panel is not None
        for frame in one.frames
    }
    waiting = tuple(
        one.id
        for one in state.photographs.values()
        if one.slot == SLOT and one.light == LIGHT and one.id not in measured
    )
    if not measured:
        return PanelView(state.instrument.tag, "", True, (), waiting)
    log = panel_log(state)
    day = log.days[-1]
    since = parse_time(now) - parse_time(day.at)
    ago = f"{since.days} day{'' if since.days == 1 else 's'} ago"
    told = f"{day.drift.state.value}, {day.at[:10]} ({ago})"
    return PanelView(state.instrument.tag, told, since >= WEEK, log.sentences, waiting)


def has_panel(state: DossierState) -> bool:
    """Whether photographs of the panel are in a dossier."""
    return any(one.slot == SLOT and one.light == LIGHT for one in state.photographs.values())
