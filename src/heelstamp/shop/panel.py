"""The weekly panel: a frame measured and entered, and the series of a dossier read back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heelstamp.errors import NotFoundError
from heelstamp.shop.opened import OpenShop

if TYPE_CHECKING:
    from heelstamp.casework.panel import PanelLog
    from heelstamp.casework.uv_lamp.panel_view import PanelView


def enter_panel(
    shop: OpenShop,
    tag: str,
    frame: str,
    box: Sequence[float],
    greys: Sequence[Sequence[float]],
    *,
    settings: str | None,
    by: str,
) -> PanelLog:
    """Measure a frame of the panel, enter it, and return the series with it.

    Parameters
    ----------
    box
        x0, y0, x1, y1 of the panel in pixels, and its reflectance in ordinary light.
    greys
        x0, y0, x1, y1 and reflectance of standards that do not glow.
    settings
        Camera settings; read from the photograph when None.

    Raises
    ------
    InputError
        No such dossier or frame, a box outside it, or a panel that cannot be measured.
    ConflictError
        The frame is entered already.
    """
    from heelstamp.casework.panel import panel_entries
    from heelstamp.luminescence import GreyStandard
    from heelstamp.luminescence.panel import measure_panel
    from heelstamp.media.decoding import camera_settings, upright_rgb

    x0, y0, x1, y1, reflectance = box
    standards = [GreyStandard((g[0], g[1], g[2], g[3]), g[4]) for g in greys]
    state = shop.subject(tag).state
    if frame not in state.photographs:
        raise NotFoundError(
            "no such photograph in the dossier",
            where=tag,
            received=frame,
            remedy="Add it first, with slot=panel and light=UV-A.",
        )
    data = shop.files.get(state.photographs[frame].file)
    reading = measure_panel(
        upright_rgb(data, frame),
        (x0, y0, x1, y1),
        reflectance=reflectance,
        greys=standards,
        settings=camera_settings(data, frame) if settings is None else settings.strip(),
    )
    number = sum(one.panel is not None for one in state.measurements.values()) // 3 + 1
    while f"panel{number}-red" in state.entered:
        number += 1
    ids = (f"panel{number}-red", f"panel{number}-green", f"panel{number}-blue")
    shop.enter(tag, panel_entries(state, frame, reading, ids), by=by)
    return panel_series(shop, tag)


def panel_series(shop: OpenShop, tag: str) -> PanelLog:
    """Return the series of a dossier.

    Raises
    ------
    InputError
        No such dossier, or no panel photograph was measured.
    """
    from heelstamp.casework.panel import panel_log

    return panel_log(shop.subject(tag).state)


def panel_at(shop: OpenShop, tag: str, at: str) -> PanelView:
    """Lay out the panel's series: of this dossier, or of the one opened for the panel."""
    from heelstamp.casework.uv_lamp.panel_view import NAMED, has_panel, panel_view

    state = shop.subject(tag).state
    if not has_panel(state):
        _, named = shop.journals.sheet(NAMED, 0, 1)
        state = shop.subject(next(iter(named), tag)).state
    return panel_view(state, at)
