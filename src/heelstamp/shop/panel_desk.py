"""The weekly panel: a frame measured and entered, and the series of a dossier read back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError
from heelstamp.shop.folder import open_shop

if TYPE_CHECKING:
    from heelstamp.casework.panel import PanelLog


def enter_panel(
    tag: str,
    frame: str,
    box: Sequence[float],
    greys: Sequence[Sequence[float]],
    shop: Path,
    *,
    settings: str | None,
    at: str,
    by: str,
) -> PanelLog:
    """Measure a frame of the panel, enter it, and give the series with it.

    Parameters
    ----------
    box
        x0, y0, x1, y1 of the panel and its reflectance in ordinary light.
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
    from heelstamp.casework.dossier import append_all, state_of
    from heelstamp.casework.panel import panel_acts, panel_log
    from heelstamp.luminescence import GreyStandard
    from heelstamp.luminescence.panel import measure_panel
    from heelstamp.media.decoding import camera_settings, upright_rgb

    x0, y0, x1, y1, reflectance = box
    standards = [GreyStandard((g[0], g[1], g[2], g[3]), g[4]) for g in greys]
    with open_shop(shop) as opened:
        state = state_of(opened, tag)
        if frame not in state.photographs:
            raise InputError(
                "no such photograph in the dossier",
                where=tag,
                received=frame,
                remedy="Add it first, with slot=panel and light=UV-A.",
            )
        data = opened.files.get(state.photographs[frame].file)
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
        append_all(opened, tag, panel_acts(state, frame, reading, ids), at=at, by=by)
        return panel_log(state_of(opened, tag))


def panel_of(tag: str, shop: Path) -> PanelLog:
    """Give the series of a dossier.

    Raises
    ------
    InputError
        No such dossier, or no panel photograph was measured.
    """
    from heelstamp.casework.dossier import state_of
    from heelstamp.casework.panel import panel_log

    with open_shop(shop) as opened:
        return panel_log(state_of(opened, tag))
