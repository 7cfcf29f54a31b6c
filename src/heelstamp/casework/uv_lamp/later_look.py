"""The same face under UV-A at two times: places that one look tells of and the other does not.

Both looks are findings as kept; the earlier is laid over the later by their photographs in ordinary
light. Each place that has no fellow is *asked about*, never said to be new or gone: another lamp,
another place of it, dust, a drawing of the masks, or something done since could each make it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.structure import Matrix, apply
from heelstamp.wording import about_faces

Which = Literal["later only", "earlier only"]
GRID = 800
"""Longer side of the grid on which areas are laid over one another, px."""
FELLOW = 0.3
"""Places belong together from this share of the smaller one."""
_Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Asked:
    """A place to ask about.

    Attributes
    ----------
    which
        Which of the looks tells of it.
    number, place
        As in its own finding.
    centre
        Pixels of the later photograph in ordinary light.
    why_not
        What the other look says of the place: *assessed there, nothing told*, *left open there*, or
        *not assessed there*.
    """

    which: Which
    number: int
    place: str
    centre: tuple[float, float]
    why_not: str

    @property
    def words(self) -> str:
        """The question."""
        return about_faces.asked_of_place.say(
            number=self.number,
            place=self.place,
            other=self.why_not,
            later=self.which == "later only",
        )


@dataclass(frozen=True, slots=True)
class TwoLooks:
    """What two looks at one face come to.

    ``both`` pairs numbers of places that lie over one another (earlier, later); ``limits`` says
    what makes the two unlike as looks.
    """

    both: tuple[tuple[int, int], ...]
    asked: tuple[Asked, ...]
    limits: tuple[str, ...]


def compare_looks(
    earlier: Mapping[str, Any], later: Mapping[str, Any], onto: Matrix
) -> TwoLooks | None:
    """Lay an earlier look over a later one.

    Parameters
    ----------
    earlier, later
        Plain values of findings.
    onto
        Pixels of the earlier photograph in ordinary light to those of the later.

    Returns
    -------
    TwoLooks or None
        None where one of them was refused: then there is nothing to compare.
    """
    if earlier["verdict"] != "assessed" or later["verdict"] != "assessed":
        return None
    height, width = later["frame_px"]
    factor = min(1.0, GRID / max(height, width))
    shrink = np.diag([factor, factor, 1.0])
    sides = {
        "later only": _Side(later, shrink, (round(height * factor), round(width * factor))),
        "earlier only": _Side(
            earlier, shrink @ onto, (round(height * factor), round(width * factor))
        ),
    }
    then, now = sides["earlier only"], sides["later only"]
    both = [
        (a, b)
        for a, one in then.places.items()
        for b, other in now.places.items()
        if _shared(one, other) >= FELLOW
    ]
    asked = []
    for which, own, other, named in (
        ("later only", now, then, {b for _, b in both}),
        ("earlier only", then, now, {a for a, _ in both}),
    ):
        for number, mask in own.places.items():
            if number in named or not mask.any():
                continue
            ys, xs = np.nonzero(mask)
            centre = (round(float(xs.mean()) / factor, 1), round(float(ys.mean()) / factor, 1))
            asked.append(
                Asked(which, number, own.named[number], centre, other.says_of(mask))  # type: ignore[arg-type]
            )
    return TwoLooks(tuple(both), tuple(asked), _limits(earlier, later))


class _Side:
    """One look on the common grid."""

    def __init__(self, data: Mapping[str, Any], to_grid: Matrix, shape: tuple[int, int]) -> None:
        self.places = {
            int(one["number"]): _filled([one["polygon"]], to_grid, shape) for one in data["regions"]
        }
        self.named = {int(one["number"]): str(one["place"]) for one in data["regions"]}
        self.open = np.zeros(shape, bool)
        for one in data.get("doubts", ()):
            turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
            x, y = one["centre"]
            ring = np.column_stack(
                [x + one["reach_px"] * np.cos(turn), y + one["reach_px"] * np.sin(turn)]
            )
            self.open |= _filled([ring], to_grid, shape)
        masks = data["masks"]
        self.assessed = _filled([masks["outline"]], to_grid, shape)
        self.assessed &= ~_filled([one["polygon"] for one in masks["parts"]], to_grid, shape)

    def says_of(self, mask: _Mask) -> str:
        """What this look says of a place that it does not tell of."""
        if (self.assessed[mask]).mean() < 0.5:
            return about_faces.NOT_ASSESSED_THERE
        if (self.open[mask]).mean() >= FELLOW:
            return about_faces.LEFT_OPEN_THERE
        return about_faces.NOTHING_TOLD_THERE


def _filled(polygons: Sequence[Any], to_grid: Matrix, shape: tuple[int, int]) -> _Mask:
    mask = np.zeros(shape, np.uint8)
    for one in polygons:
        corners = apply(to_grid, np.asarray(one, dtype=float).reshape(-1, 2))
        cv2.fillPoly(mask, [np.round(corners * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def _shared(one: _Mask, other: _Mask) -> float:
    smaller = min(np.count_nonzero(one), np.count_nonzero(other))
    return float(np.count_nonzero(one & other)) / smaller if smaller else 0.0


def _limits(earlier: Mapping[str, Any], later: Mapping[str, Any]) -> tuple[str, ...]:
    first, second = (1 + len(one.get("further", ())) for one in (earlier, later))
    told = []
    if first != second:
        told.append(about_faces.other_lamps.say(earlier=first, later=second))
    proposed = [bool(one["masks"]["proposed"]) for one in (earlier, later)]
    told += [about_faces.MASKS_UNLIKE] if any(proposed) else []
    lights = [(one.get("lamp") or {}) for one in (earlier, later)]
    keys = ("wavelength_nm", "filter", "distance_mm")
    if [lights[0].get(k) for k in keys] != [lights[1].get(k) for k in keys]:
        told.append(about_faces.LAMPS_UNLIKE)
    return tuple(told)
