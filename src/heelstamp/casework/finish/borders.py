"""What a person says of a region: set aside with a reason, or its border drawn by hand.

Both are entries beside the finding, which stays as it was; they name the finding by its digest,
because another comparison numbers its regions anew. A border is a JSON file of schema
``heelstamp/region-border/1`` whose SHA-256 the entry names. Its area is that of the polygon by
the scale of the finding; the standard uncertainty takes that scale as known to 1 % and the line as
drawn to 2 px, both judgement. The dating does not follow: likelihoods are those of the finding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import msgspec
import numpy as np
from numpy.typing import NDArray

from heelstamp.archive import canonical_json, read_json
from heelstamp.catalogue import DossierState, RegionBorder, RegionVerdict
from heelstamp.errors import InputError
from heelstamp.luminescence.scale import area_mm2, given
from heelstamp.wording.about_finish import area_words

SCHEMA = "heelstamp/region-border/1"
ASIDE, STANDS = "set aside", "stands"
DRAWN_PX = 2.0
MOST_CORNERS = 1000

Polygon = Sequence[Sequence[float]]
_R = TypeVar("_R", RegionVerdict, RegionBorder)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A border drawn by hand: its polygon, by whom and why, its area if there is a scale."""

    polygon: tuple[tuple[float, float], ...]
    by: str
    reason: str
    area_cm2: float | None
    area_uncertainty_cm2: float | None


@dataclass(frozen=True, slots=True)
class Said:
    """What persons said of one region: ``aside`` with whose word and why, ``border`` by hand."""

    aside: bool = False
    by: str = ""
    reason: str = ""
    border: Drawn | None = None


def border_files(state: DossierState, observation: str, data: Mapping[str, Any]) -> dict[int, str]:
    """The digests of the borders that stand, by region."""
    borders = _last(state, RegionBorder, observation, data)
    return {number: one.file for number, one in borders.items() if one.file is not None}


def said_of(
    state: DossierState, observation: str, data: Mapping[str, Any], files: Mapping[int, bytes]
) -> dict[int, Said]:
    """What persons said of the regions of a finding.

    Parameters
    ----------
    observation
        Id of the look.
    data
        Plain values of its finding.
    files
        Kept borders by region, as `border_files` names them.

    Raises
    ------
    InputError
        A kept border cannot be read.
    """
    verdicts = _last(state, RegionVerdict, observation, data)
    borders = _last(state, RegionBorder, observation, data)
    found = {}
    for number in _numbers(data):
        said, border = verdicts.get(number), None
        if number in files:
            told = borders[number]
            polygon = polygon_in(files[number], f"border of region {number}")
            area, doubt = area_of(polygon, data["px_per_mm"])
            border = Drawn(polygon, state.entered[told.id].by, border_words(told), area, doubt)
        if said is not None:
            by = state.entered[said.id].by
            found[number] = Said(said.verdict == ASIDE, by, said.reason, border)
        elif border is not None:
            found[number] = Said(border=border)
    return found


def spoken(
    state: DossierState, observation: str, data: Mapping[str, Any]
) -> list[tuple[int, bool, str, str]]:
    """What persons said of regions for a paper: number, whether set aside, by whom, words.

    Not set aside means that a border was drawn by hand; what stands as it was found is left out.
    """
    verdicts = _last(state, RegionVerdict, observation, data)
    borders = _last(state, RegionBorder, observation, data)
    told = []
    for number in _numbers(data):
        said, border = verdicts.get(number), borders.get(number)
        if said is not None and said.verdict == ASIDE:
            told.append((number, True, state.entered[said.id].by, said.reason))
        if border is not None and border.file is not None:
            told.append((number, False, state.entered[border.id].by, border_words(border)))
    return told


def border_words(border: RegionBorder) -> str:
    """Say what lies inside a border drawn by hand, and why it was drawn."""
    area = border.area_cm2
    inside = "no scale" if area is None else area_words(area, border.area_uncertainty_cm2)
    return "; ".join(one for one in (f"{inside} inside", border.reason) if one)


def area_of(polygon: Polygon, px_per_mm: float | None) -> tuple[float | None, float | None]:
    """The area of a polygon and its standard uncertainty in cm²; None without a scale."""
    if px_per_mm is None:
        return None, None
    points = np.asarray(polygon, dtype=float)
    after = np.roll(points, -1, axis=0)
    twice = float(np.sum(points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]))
    around = float(np.hypot(*(after - points).T).sum())
    area, doubt = area_mm2(abs(twice) / 2.0, around, given(px_per_mm), edge_px=DRAWN_PX)
    return area / 100.0, doubt / 100.0


def border_file(observation: str, finding: str, number: int, polygon: Polygon) -> bytes:
    """The file that is kept of a border."""
    return canonical_json(
        {
            "schema": SCHEMA,
            "observation": observation,
            "finding": finding,
            "region": number,
            "polygon": [[round(float(x), 1), round(float(y), 1)] for x, y in polygon],
        }
    )


def polygon_in(data: bytes, where: str) -> tuple[tuple[float, float], ...]:
    """Read the polygon of a kept border.

    Raises
    ------
    InputError
        Not such a file.
    """
    told = read_json(data, where=where)
    if not isinstance(told, dict) or told.get("schema") != SCHEMA:
        raise InputError("not a file of a border", where=where)
    try:
        return msgspec.convert(told.get("polygon"), tuple[tuple[float, float], ...])
    except msgspec.ValidationError as error:
        raise InputError("not a file of a border", where=where, received=error) from None


def checked_border(polygon: Polygon, frame_px: Sequence[int]) -> tuple[tuple[float, float], ...]:
    """A border that can be kept.

    Parameters
    ----------
    frame_px
        Height and width of the visible photograph.

    Raises
    ------
    InputError
        Fewer than three corners, too many, outside the photograph, or no area.
    """
    points = [(float(x), float(y)) for x, y in polygon]
    if not 3 <= len(points) <= MOST_CORNERS:
        raise InputError(
            "a border needs three corners or more",
            where="border",
            received=len(points),
            remedy=f"Draw 3 to {MOST_CORNERS}.",
        )
    height, width = frame_px
    if not all(0 <= x <= width and 0 <= y <= height for x, y in points):
        raise InputError(
            "a corner outside the photograph",
            where="border",
            remedy=f"Stay within {width} × {height} pixels.",
        )
    area, _ = area_of(points, 1.0)
    if area is None or area * 100.0 < 1.0:
        raise InputError("a border around nothing", where="border", remedy="Draw it again.")
    if crosses_itself(points):
        raise InputError(
            "a border that crosses itself",
            where="border",
            remedy="Move the corners apart: what lies inside of it is not plain.",
        )
    return tuple(points)


def crosses_itself(polygon: Polygon) -> bool:
    """Tell whether two sides of a closed polygon cross, so that its area would mean nothing.

    Sides that only touch do not count. Every side is held against every other: for the few
    corners of a border, quick enough.
    """
    start = np.asarray(polygon, dtype=float)
    along = np.roll(start, -1, axis=0) - start

    def side(points: NDArray[np.float64]) -> NDArray[np.float64]:
        """For each side (rows) on which hand of it each point (columns) lies."""
        away = points[None, :, :] - start[:, None, :]
        hand = along[:, None, 0] * away[..., 1] - along[:, None, 1] * away[..., 0]
        return np.asarray(np.sign(hand), dtype=float)

    apart = side(start) * side(start + along) < 0
    return bool((apart & apart.T).any())


def _last(
    state: DossierState, kind: type[_R], observation: str, data: Mapping[str, Any]
) -> dict[int, _R]:
    """Find what was entered last of a kind about each region of a finding."""
    digest = str(data["digest"])
    return {
        one.region: one
        for one in state.of(kind).values()
        if one.look == observation and digest.startswith(one.finding)
    }


def _numbers(data: Mapping[str, Any]) -> list[int]:
    return [int(region["number"]) for region in data["regions"]]
