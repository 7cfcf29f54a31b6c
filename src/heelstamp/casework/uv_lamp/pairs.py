"""Pairs for the lamp: which frame in ordinary light belongs to which under UV-A, by their slots.

The photo plan has two slots a face, ``uv-front-visible`` and ``uv-front``, for a camera that was
not moved between the two. A frame with the lamp on the opposite side has the slot of its UV-A frame
with ``-moved``. The newest frame of each is proposed; frames of several numbers, as of
the edges, are paired by their number. What the slots do not tell a person chooses. The weekly
panel under the lamp is no face and never proposed.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.finish.entry import SIGN, differs_in, looks_at_face
from heelstamp.casework.panel import SLOT as PANEL_SLOT
from heelstamp.casework.photo_plan import PhotoPlan
from heelstamp.catalogue import DossierState, Observation, Photograph
from heelstamp.errors import InputError

VISIBLE, UV = "visible", "UV-A"
OF_VISIBLE = "-visible"
OF_MOVED = "-moved"
"""Ends the slot of a UV-A frame of the same face with the lamp on the opposite side."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """One face as far as it was photographed.

    Attributes
    ----------
    face
        Its name, as ``front``.
    slot
        Slot of the plan that the UV-A frame fills; empty when the frames have none.
    visible, uv
        The frames; None where one was not taken yet.
    moved
        The UV-A frame with the lamp on the opposite side, if one was taken.
    look
        The observation of the glow that these frames left, if there is one.
    """

    face: str
    slot: str
    visible: Photograph | None
    uv: Photograph | None
    look: Observation | None = None
    moved: Photograph | None = None

    @property
    def whole(self) -> bool:
        """Whether both frames are there."""
        return self.visible is not None and self.uv is not None


def look_at(state: DossierState, uv: str) -> Observation | None:
    """The observation of the glow that names this UV-A frame, the last that stands."""
    found = [one for one in state.observations.values() if one.sign == SIGN and uv in one.frames]
    return found[-1] if found else None


def look_before(state: DossierState, pair: Pairing) -> Observation | None:
    """The last read look at the same face, of other frames and before that of *pair*.

    A face is known by the slot of its UV-A frame; that of a return counts as that of the plan.
    """
    if pair.look is None or not pair.slot:
        return None
    at = state.entered[pair.look.id].seq
    found = [
        one
        for one in looks_at_face(state, pair.slot)
        if one.id != pair.look.id and state.entered[one.id].seq < at
    ]
    return found[-1] if found else None


def proposed_pairs(state: DossierState, plan: PhotoPlan) -> tuple[Pairing, ...]:
    """The faces of the plan in its order, then UV-A frames that belong to none of them."""
    rows, used = [], set()
    for slot in plan.slots:
        if slot.light != UV:
            continue
        glowing = [one for one in _newest(state) if slot.holds(one)]
        partner = plan.slot_of(slot.id + OF_VISIBLE)
        seen = [one for one in _newest(state) if partner is not None and partner.holds(one)]
        used |= {one.id for one in glowing}
        for number in _numbers(slot.frames):
            uv = _numbered(glowing, number)
            visible = _numbered(seen, number)
            face = slot.id.removeprefix("uv-").replace("-", " ") + (f" {number}" if number else "")
            look = look_at(state, uv.id) if uv else None
            name = f"{slot.id}-{number}" if number else slot.id
            rows.append(Pairing(face, name, visible, uv, look, _moved(state, name, uv)))
    for one in _newest(state):
        beside = one.slot == PANEL_SLOT or one.slot.endswith(OF_MOVED)
        if one.light == UV and one.id not in used and not beside:
            look = look_at(state, one.id)
            other = state.photographs.get(look.frames[0]) if look else None
            face = one.slot.replace("-", " ") or f"face in {one.id}"
            rows.append(Pairing(face, one.slot, other, one, look))
    return tuple(rows)


def chosen_pair(state: DossierState, plan: PhotoPlan, visible: str, uv: str) -> Pairing:
    """The pair that a person asks for, checked for its lights.

    Raises
    ------
    InputError
        No such frame, or one in another light.
    """
    first, second = _in_light(state, visible, VISIBLE), _in_light(state, uv, UV)
    known = [one for one in proposed_pairs(state, plan) if one.uv is second]
    face = known[0].face if known else f"face in {uv}"
    slot = known[0].slot if known else second.slot
    return Pairing(face, slot, first, second, look_at(state, uv), _moved(state, slot, second))


def frames_in(state: DossierState, light: str) -> tuple[Photograph, ...]:
    """The frames in one light that may be of a face, the newest first."""
    return tuple(one for one in _newest(state) if one.light == light and one.slot != PANEL_SLOT)


def _in_light(state: DossierState, frame: str, light: str) -> Photograph:
    one = state.photographs.get(frame)
    if one is None:
        raise InputError(
            "no such frame", where=state.instrument.tag, received=frame, remedy="See Frames."
        )
    if one.light != light:
        raise InputError(
            f"not a frame in {light} light",
            where=f"{state.instrument.tag}, frame {frame}",
            received=one.light,
            remedy="Choose another, or correct its entry.",
        )
    return one


def _newest(state: DossierState) -> list[Photograph]:
    return list(state.photographs.values())[::-1]


def _moved(state: DossierState, slot: str, uv: Photograph | None) -> Photograph | None:
    """The newest UV-A frame of a slot with the lamp moved, taken for this UV-A frame.

    One that was taken for an earlier frame of the slot, as on another visit, is no second half.
    """
    if uv is None or not slot:
        return None
    for one in _newest(state):
        if one.light == UV and one.slot == slot + OF_MOVED and _after(state, one, uv):
            begun = [
                other
                for other in state.photographs.values()
                if other.light == UV and other.slot == slot and _after(state, one, other)
            ]
            if begun and begun[-1] is uv:
                return one
    return None


def _after(state: DossierState, one: Photograph, other: Photograph) -> bool:
    """Whether *one* was entered after *other*."""
    return state.entered[one.id].seq > state.entered[other.id].seq


def _numbers(frames: int) -> tuple[int, ...]:
    return (0,) if frames == 1 else tuple(range(1, frames + 1))


def _numbered(frames: list[Photograph], number: int) -> Photograph | None:
    """The newest frame of a number; without a number any, the newest first."""
    if not number:
        return frames[0] if frames else None
    named = [one for one in frames if one.slot.endswith(f"-{number}")]
    return named[0] if named else None


def words_of(pair: Pairing) -> str:
    """Tell in a few words where a pair stands."""
    if pair.visible is None:
        return "no frame in ordinary light"
    if pair.uv is None:
        return "no frame under UV-A yet"
    if pair.look is None:
        return "not compared"
    if not pair.look.is_read:
        return "not assessable"
    places = pair.look.places
    if places is None:
        return pair.look.outcome or "compared"
    return "even (cohesive) where assessed" if not places else differs_in(places)
