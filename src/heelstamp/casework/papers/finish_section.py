"""The finish under UV-A: a verdict a face, pictures, and a table of the regions that differ.

Made from kept findings alone; no photograph is judged here. Rule 6 holds throughout: a glow is
even, differs here, or cannot be assessed because of something, and no glow tells whose finish it
is, which is said once for all faces.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from heelstamp.casework.feature_names import heading
from heelstamp.casework.finish.borders import spoken
from heelstamp.casework.finish.describe import (
    describe_doubts,
    describe_evenness,
    describe_limits,
    describe_refusals,
    grounds_of,
)
from heelstamp.casework.finish.entry import SIGN
from heelstamp.casework.finish.finding_file import OVERLAY, PAIR, KeptFinding
from heelstamp.casework.finish.places import in_view_of_all
from heelstamp.casework.papers.document_rows import Check, FinishFace, Plate, RegionRow
from heelstamp.catalogue import DossierState, Observation
from heelstamp.wording import Grounds, Statement, about_finish
from heelstamp.wording.strength import percent

EXAMINER = "the examiner"
"""Who spoke, on a paper that names no hand."""


def looks_with_findings(state: DossierState) -> tuple[Observation, ...]:
    """The observations of a glow whose finding is kept, in the order of entry."""
    return tuple(
        one for one in state.observations.values() if one.sign == SIGN and one.file is not None
    )


def finish_section(
    state: DossierState, kept: Mapping[str, KeptFinding], touched: float | None = None
) -> tuple[tuple[FinishFace, ...], tuple[Statement, ...]]:
    """The faces that were compared, and what no glow can tell.

    Parameters
    ----------
    kept
        Kept findings by observation; an observation without one is left to the list of what was
        seen.
    touched
        P(the finish has touched places | all that was seen): the causes of a place are then told in
        view of all; without it by its look alone.
    """
    looks = [one for one in looks_with_findings(state) if one.id in kept]
    faces = tuple(_face(one, kept[one.id], state, touched) for one in looks)
    if not faces:
        return (), ()
    frames = tuple(dict.fromkeys(frame for one in looks for frame in one.frames))
    grounds = Grounds(
        tuple(one.id for one in looks), frames, grounds_of(kept[looks[0].id].data).not_examined
    )
    return faces, (about_finish.cannot_tell("glow:undecided", grounds),)


def plates_of(kept: Mapping[str, KeptFinding]) -> dict[str, bytes]:
    """The pictures of kept findings by the keys of their plates."""
    return {
        _key(id_, name): content
        for id_, one in kept.items()
        for name, content in one.pictures.items()
        if name in (PAIR, OVERLAY)
    }


def finish_checks(faces: tuple[FinishFace, ...]) -> tuple[Check, ...]:
    """The digests of the findings, for 'how to check this paper'."""
    return tuple(
        Check(f"Digest of the finish finding, {face.title.lower()} (SHA-256)", face.finding)
        for face in faces
    )


def face_name(state: DossierState, uv: str, other: str = "") -> str:
    """Name the face a UV-A frame shows, by its slot: 'front', 'back', or *other*, or the frame."""
    frame = state.photographs.get(uv)
    slot = "" if frame is None else frame.slot
    words = [word for word in slot.replace("_", "-").split("-") if word not in ("uv", "")]
    return " ".join(words) or other or f"face in {uv}"


def _face(
    seen: Observation, kept: KeptFinding, state: DossierState, touched: float | None
) -> FinishFace:
    data, prefix = kept.data, f"glow:{seen.id}"
    visible, uv = str(data["visible"]), str(data["uv"])
    name = str(data.get("face") or face_name(state, uv))
    grounds = grounds_of(data, (seen.id,))
    shown = tuple(dict.fromkeys((visible, uv, *map(str, data.get("further", ())))))
    frames = [state.photographs[one] for one in shown if one in state.photographs]
    notes: list[Statement] = []
    answer: tuple[Statement, ...]
    if data["verdict"] == "assessed":
        answer = (
            _verdict(data, name, prefix, grounds),
            *describe_doubts(data, grounds, prefix=prefix),
        )
        notes += describe_limits(data, grounds, prefix=prefix)
        short = answer[:1]
        if count := len(data.get("doubts", ())):
            say_open = about_finish.places_left_open
            short += (say_open(f"{prefix}:open places", grounds, face=name, count=count),)
    else:
        short = answer = describe_refusals(data, grounds, prefix=prefix)
    for number, aside, by, reason in spoken(state, seen.id, data):
        say = about_finish.set_aside if aside else about_finish.border_by_hand
        told = f"{prefix}:region {number}:{'aside' if aside else 'border'}"
        notes.append(say(told, grounds, number=number, by=by or EXAMINER, reason=reason))
    simulated = any(one.simulated for one in frames)
    if simulated:
        notes.append(about_finish.simulated(f"{prefix}:simulated", grounds))
    return FinishFace(
        title=heading(name),
        frames=shown,
        answer=answer,
        short=short,
        regions=region_rows(data["regions"], touched),
        plates=_plates(seen.id, kept, name, simulated=simulated),
        notes=tuple(notes),
        finding=str(data["digest"]),
        private=len(frames) < len(shown) or any(one.private for one in frames),
    )


def _verdict(data: Mapping[str, Any], name: str, prefix: str, grounds: Grounds) -> Statement:
    regions = data["regions"]
    if not regions:
        return describe_evenness(data, grounds, f"{prefix}:verdict", face=f"the {name}")
    areas = [one["area_cm2"] for one in regions]
    visible = sum(bool(one["visible"]) for one in regions)
    return about_finish.face_differs(
        f"{prefix}:verdict",
        grounds,
        face=heading(name),
        visible=visible,
        hidden=len(regions) - visible,
        together_cm2=None if None in areas else sum(areas),
        assessed_cm2=data["assessed_cm2"],
    )


def region_rows(
    regions: Sequence[Mapping[str, Any]], touched: float | None
) -> tuple[RegionRow, ...]:
    """Regions of a finding as rows; see `finish_section` for *touched*."""
    seen = regions if touched is None else in_view_of_all(regions, touched)
    return tuple(region_row(one) for one in seen)


def region_row(region: Mapping[str, Any]) -> RegionRow:
    """A region of a finding as a row of a table, in the words of papers."""
    kind, area = str(region["kind"]), region["area_cm2"]
    return RegionRow(
        number=int(region["number"]),
        kind=kind,
        how=f"{heading(about_finish.KINDS[kind])}, {region['place']}",
        area=""
        if area is None
        else about_finish.area_words(float(area), region["area_uncertainty_cm2"]),
        ratio=f"{float(region['glow_ratio']):.2f}",
        seen="visible" if region["visible"] else "not visible",
        causes=about_finish.causes_words(region["causes"]),
        deciding=about_finish.deciding_words(region["causes"]),
        confidence=percent(float(region["confidence"])),
    )


def _plates(id_: str, kept: KeptFinding, name: str, *, simulated: bool) -> tuple[Plate, ...]:
    data = kept.data
    made = "Simulated pictures" if simulated else "Photographs"
    numbers = [str(one["number"]) for one in data["regions"]]
    told = f"regions {', '.join(numbers)}" if numbers else "no region"
    left = [str(one["label"]) for one in data.get("doubts", ())]
    told += f"; left open {', '.join(left)}" if left else ""
    visible, uv = str(data["visible"]), str(data["uv"])
    texts = {
        PAIR: (
            f"Left {visible}, ordinary light; right {uv}, UV-A laid over it and shown brighter.",
            f"{made} of the {name} side by side: {visible} in ordinary light, {uv} under UV-A.",
        ),
        OVERLAY: (
            f"{visible} with {told}.",
            f"{made} of the {name} in ordinary light with {told} outlined, hatched and numbered.",
        ),
    }
    return tuple(
        Plate(_key(id_, picture), *text)
        for picture, text in texts.items()
        if picture in kept.pictures
    )


def _key(id_: str, picture: str) -> str:
    return f"{id_}:{picture}"
