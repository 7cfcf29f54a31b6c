"""The answer of a pair as the bench shows it: why not, or the regions in rows, and what is said.

Words are those of papers and of ``casework.finish.describe``; nothing is judged here. A region that
a person set aside stays in its row with the reason, and a border by hand stands beside the
program's own, marked so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

from heelstamp.archive import read_json
from heelstamp.casework.finish.borders import (
    ASIDE,
    STANDS,
    Polygon,
    Said,
    area_of,
    border_files,
    checked_border,
)
from heelstamp.casework.finish.describe import (
    describe_doubts,
    describe_evenness,
    describe_limits,
    describe_refusals,
    grounds_of,
)
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.papers.document_rows import RegionRow
from heelstamp.casework.papers.finish_section import region_rows
from heelstamp.catalogue import DossierState, Observation
from heelstamp.catalogue.conversion import convert
from heelstamp.errors import ConflictError, InputError
from heelstamp.wording import Grounds, Statement, about_finish
from heelstamp.wording.banned import refuse_banned

REASONS = (
    "dust or lint",
    "a reflection",
    "a mark of wear that is plain to see",
    "a part, not finish",
)


class _Border(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    corners: list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class RegionLine:
    """One region: its row in the words of papers, its border, and what a person said of it."""

    row: RegionRow
    polygon: tuple[tuple[float, float], ...]
    centre: tuple[float, float]
    visible: bool
    said: Said

    @property
    def border(self) -> tuple[tuple[float, float], ...]:
        """The border to draw: by hand where there is one."""
        return self.said.border.polygon if self.said.border else self.polygon

    @property
    def drawn_area(self) -> str:
        """The area of the border by hand, in words."""
        drawn = self.said.border
        if drawn is None or drawn.area_cm2 is None:
            return ""
        return about_finish.area_words(drawn.area_cm2, drawn.area_uncertainty_cm2)


@dataclass(frozen=True, slots=True)
class OpenPlace:
    """A difference that is left open: its name in the picture, its middle and reach in pixels."""

    label: str
    centre: tuple[float, float]
    reach: float


@dataclass(frozen=True, slots=True)
class Answer:
    """What a pair came to.

    Attributes
    ----------
    assessed
        False: refused, and ``refused`` says why and what to do.
    sentence
        The answer in one sentence, when assessed.
    weaker
        What weakens it.
    left_open, open_places
        What light, shape, dust or an undrawn part could have made, in words and in the picture.
    place_lamp
        Where to put the lamp for the next UV-A frame.
    finding, observation
        Digest of the finding, and id of the look once it is entered.
    size
        Width and height of the visible photograph in pixels.
    transform
        3 × 3, from UV-A to visible pixels; None when it was not found.
    """

    assessed: bool
    sentence: str
    refused: tuple[Statement, ...]
    weaker: tuple[Statement, ...]
    undecided: str
    lines: tuple[RegionLine, ...]
    left_open: tuple[Statement, ...]
    open_places: tuple[OpenPlace, ...]
    place_lamp: str
    finding: str
    observation: str
    size: tuple[int, int]
    transform: tuple[tuple[float, ...], ...] | None
    px_per_mm: float | None
    basis: str
    masks: Mapping[str, Any] | None


def answer_of(
    data: Mapping[str, Any],
    observation: str,
    said: Mapping[int, Said],
    touched: float | None = None,
) -> Answer:
    """The answer that a finding holds.

    Parameters
    ----------
    data
        Plain values of a finding.
    observation
        Id of the look that was entered of it; empty when none was.
    said
        What persons said of its regions.
    touched
        P(the finish has touched places | all that was seen), once the look is entered.
    """
    grounds = grounds_of(data, (observation,) if observation else ())
    assessed = data["verdict"] == "assessed"
    height, width = (int(one) for one in data["frame_px"])
    transform = data["transform"]
    return Answer(
        assessed=assessed,
        sentence=_sentence(data, grounds) if assessed else "",
        refused=() if assessed else describe_refusals(data, grounds),
        weaker=describe_limits(data, grounds) if assessed else (),
        undecided=about_finish.cannot_tell.say(),
        lines=tuple(
            _line(one, row, said)
            for one, row in zip(data["regions"], region_rows(data["regions"], touched), strict=True)
        ),
        left_open=describe_doubts(data, grounds) if assessed else (),
        open_places=tuple(_open_place(one) for one in data.get("doubts", ())),
        place_lamp=place_lamp(data),
        finding=str(data["digest"]),
        observation=observation,
        size=(width, height),
        transform=None if transform is None else tuple(tuple(map(float, row)) for row in transform),
        px_per_mm=data["px_per_mm"],
        basis=str(data["basis"]),
        masks=data["masks"],
    )


def place_lamp(data: Mapping[str, Any] | None) -> str:
    """Where to put the lamp for a second UV-A frame: opposite to where its light came from."""
    told = ((data or {}).get("lamp") or {}).get("from_degrees") or [None]
    return about_finish.put_lamp.say(towards=told[0])


def region_entries(
    state: DossierState,
    stamp: EntryStamp,
    look: Observation,
    data: Mapping[str, Any],
    number: int,
    *,
    aside: bool,
    reason: str,
) -> list[NewEntry]:
    """The entry that sets a region aside, or lets it stand again.

    Raises
    ------
    InputError
        No such region, no reason, or words that no paper may carry.
    """
    if stamp.id in state.entered:
        return []
    _region(data, number)
    reason = reason.strip()
    if aside and not reason:
        raise InputError(
            "a region is set aside with a reason",
            where=f"region {number}",
            remedy="Choose one, or write what it is.",
        )
    refuse_banned(reason, where="field reason")
    body = _named(stamp, look, data, number) | {
        "verdict": ASIDE if aside else STANDS,
        "reason": reason or "It stands as the comparison found it.",
    }
    return [NewEntry("region", body)]


def border_entries(
    state: DossierState,
    stamp: EntryStamp,
    look: Observation,
    data: Mapping[str, Any],
    number: int,
    *,
    drawn: tuple[str, Polygon] | None,
    reason: str,
) -> list[NewEntry]:
    """The entry that keeps a border drawn by hand, or takes it back.

    Parameters
    ----------
    drawn
        Digest of the kept file, and its polygon; None lets the program's border stand again.

    Raises
    ------
    ConflictError
        There is no border to take back.
    """
    if stamp.id in state.entered:
        return []
    _region(data, number)
    refuse_banned(reason, where="field reason")
    if drawn is None:
        if number not in border_files(state, look.id, data):
            raise ConflictError(
                "no border by hand stands", where=f"region {number}", remedy="Draw one."
            )
        reason = reason.strip() or "The program's border stands."
        return [NewEntry("border", _named(stamp, look, data, number) | {"reason": reason})]
    area, doubt = area_of(drawn[1], data["px_per_mm"])
    body = _named(stamp, look, data, number) | {
        "file": drawn[0],
        "area_cm2": area,
        "area_uncertainty_cm2": doubt,
        "reason": reason.strip(),
    }
    return [NewEntry("border", body)]


def _named(
    stamp: EntryStamp, look: Observation, data: Mapping[str, Any], number: int
) -> dict[str, Any]:
    """Name a region of a finding in an entry about it."""
    named = {"id": stamp.id, "look": look.id, "finding": str(data["digest"]), "region": number}
    return named | stamp.late


def border_of(
    data: Mapping[str, Any], number: int, polygon: Sequence[Sequence[float]]
) -> tuple[tuple[float, float], ...]:
    """A border of a region that can be kept; raises as `checked_border` does."""
    _region(data, number)
    return checked_border(polygon, data["frame_px"])


def drawn_polygon(text: str) -> tuple[tuple[float, float], ...]:
    """Read a polygon that a page sends: ``[[x, y], …]``; empty for none.

    Raises
    ------
    InputError
        Not a list of pairs of numbers.
    """
    if not text.strip():
        return ()
    told = convert({"corners": read_json(text, where="border")}, _Border, where="border")
    return tuple(told.corners)


def entered_look(look: Observation | None) -> Observation:
    """The look that regions can be spoken of.

    Raises
    ------
    ConflictError
        The look is not entered, or was not assessable.
    """
    if look is None or not look.is_read or look.file is None:
        raise ConflictError(
            "the look is not entered",
            where="lamp",
            remedy="Enter it first: what is said of a region is said of an entry.",
        )
    return look


def _region(data: Mapping[str, Any], number: int) -> Mapping[str, Any]:
    for one in data["regions"]:
        if int(one["number"]) == number:
            found: Mapping[str, Any] = one
            return found
    raise InputError("no such region", received=number, remedy="See the regions of the finding.")


def _line(region: Mapping[str, Any], row: RegionRow, said: Mapping[int, Said]) -> RegionLine:
    polygon = tuple((float(x), float(y)) for x, y in region["polygon"])
    x, y = region["centre"]
    return RegionLine(
        row,
        polygon,
        (float(x), float(y)),
        bool(region["visible"]),
        said.get(int(region["number"]), Said()),
    )


def _open_place(doubt: Mapping[str, Any]) -> OpenPlace:
    x, y = doubt["centre"]
    return OpenPlace(str(doubt["label"]), (float(x), float(y)), float(doubt["reach_px"]))


def _sentence(data: Mapping[str, Any], grounds: Grounds) -> str:
    regions = data["regions"]
    if not regions:
        return describe_evenness(data, grounds, "glow:even").text
    areas = [one["area_cm2"] for one in regions]
    seen = sum(bool(one["visible"]) for one in regions)
    return about_finish.face_differs.say(
        face="This face",
        visible=seen,
        hidden=len(regions) - seen,
        together_cm2=None if None in areas else sum(areas),
        assessed_cm2=data["assessed_cm2"],
    )
