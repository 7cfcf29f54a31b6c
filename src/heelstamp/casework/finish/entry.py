"""What an assessed pair leaves in a dossier: one observation of the finish with likelihoods.

The same look is counted once. A pair whose UV frame a glow observation already names is refused;
where a sign that the chronology weighs was read from that frame, the glow is entered as seen,
without likelihoods. A face on which all that differs is left open is entered with the outcome *left
open*, without likelihoods. Two faces of one instrument are taken as independent given the state of
the finish: that overstates two even faces somewhat, and moves the first coat against an old
complete refinish not at all. One face weighs once: a later look at it, as at a return, and one
with the pickguard off are entered as seen, without likelihoods. So is a look at the neck, whose
finish is not that of the body.
"""

from __future__ import annotations

from typing import Any

from heelstamp.casework.finish.finding import FinishFinding
from heelstamp.catalogue import DossierState, Observation
from heelstamp.chronology import Chronology
from heelstamp.errors import ConflictError, InputError
from heelstamp.wording import about_finish

SIGN = "glow"
PART = "finish"
NO_PAIR = frozenset(
    {
        "no photograph",
        "too small",
        "other format",
        "same photograph twice",
        "swapped pair",
        "wrong side",
        "different instrument",
    }
)
"""Refusals that say the photographs are no pair of one face: nothing was looked at."""


OF_NECK = ("uv-headstock", "uv-neck-back")
"""Slots of UV-A frames that show the finish of the neck."""
SAME_FACE = {"uv-under-pickguard": "uv-front"}
RETURNED = "return-"


def face_of(slot: str) -> str:
    """The face that a slot shows: one name for first, later and returned frames of it."""
    own = slot.removeprefix(RETURNED)
    return SAME_FACE.get(own, own)


def looks_at_face(state: DossierState, slot: str) -> list[Observation]:
    """The read looks at the face of a UV-A frame's slot, in the order of entry."""
    return [
        one
        for one in state.observations.values()
        if one.sign == SIGN and one.is_read and slot and slot_looked_at(state, one) == face_of(slot)
    ]


def slot_looked_at(state: DossierState, look: Observation) -> str:
    """The face that a look is of; empty where its frame has no slot."""
    frame = state.photographs.get(look.frames[1]) if len(look.frames) > 1 else None
    return "" if frame is None else face_of(frame.slot)


def differs_in(places: int) -> str:
    """Say in how many places a coat differs from its surroundings."""
    return f"differs in {places} place{'' if places == 1 else 's'}"


def same_look(state: DossierState, chronology: Chronology, uv: str) -> Observation | None:
    """The observation of the finish through which this look counts already, if there is one.

    Parameters
    ----------
    uv
        Id of the UV frame.
    """
    for seen in state.observations.values():
        row = chronology.sign(seen.sign or "") if seen.kind == "sign" and seen.is_read else None
        weighed = row is not None and PART in row.parts and seen.part == PART
        if weighed and seen.sign != SIGN and uv in seen.frames:
            return seen
    return None


def glow_entry(
    finding: FinishFinding,
    state: DossierState,
    chronology: Chronology,
    *,
    id_: str,
    file: str | None = None,
    again: str = "",
) -> tuple[str, dict[str, Any]]:
    """Kind and body of the entry to append.

    A pair that was refused for what its photographs are is entered as looked at and *illegible*,
    with the reasons. Examined again, say with points marked by hand, it corrects that entry.

    Parameters
    ----------
    finding
        Of two frames of this dossier, named by their ids.
    id_
        Id of the new entry.
    file
        Digest of the kept file that holds the finding.
    again
        Why this comparison is put in the place of one that was read, as masks drawn anew; empty
        refuses that.

    Raises
    ------
    InputError
        The pair was refused because it is none: nothing was looked at that could be entered.
    ConflictError
        A glow observation names this UV frame already.
    """
    codes = {reason.code for reason in finding.assessment.reasons}
    if not finding.assessed and codes & NO_PAIR:
        raise InputError(
            "a refused pair is not entered",
            where=f"{finding.visible} and {finding.uv}",
            received=", ".join(sorted(codes)),
            remedy="Hand in the two photographs of one face, as the reasons say.",
        )
    earlier = [
        seen
        for seen in state.observations.values()
        if seen.sign == SIGN and set(seen.frames) & {finding.uv, *finding.further}
    ]
    for seen in earlier:
        if (seen.is_read or not finding.assessed) and not again.strip():
            raise ConflictError(
                "this look is entered already",
                where=f"frame {finding.uv}",
                received=f"observation {seen.id}",
                remedy="Correct or withdraw that observation first.",
            )
    if not earlier:
        return "observation", _body(finding, state, chronology, id_, file)
    return "correction", {
        "id": f"{id_}-again",
        "corrects": earlier[0].id,
        "reason": again.strip() or "The pair was examined again.",
        "replacement": _body(finding, state, chronology, earlier[0].id, file),
    }


def _body(
    finding: FinishFinding, state: DossierState, chronology: Chronology, id_: str, file: str | None
) -> dict[str, Any]:
    body: dict[str, Any] = {
        "id": id_,
        "part": PART,
        "kind": "sign",
        "status": "read" if finding.assessed else "illegible",
        "sign": SIGN,
        "frames": [finding.visible, finding.uv, *finding.further],
    }
    if file is not None:
        body["file"] = file
    if not finding.assessed:
        return {**body, "note": _why_not(finding)}
    regions, doubts = finding.assessment.regions, finding.assessment.doubts
    if regions or not doubts:
        body["places"] = len(regions)
    told = _counted_elsewhere(finding, state, chronology, id_)
    if not told and (regions or not doubts):
        return {**body, "likelihoods": finding.likelihoods(), "note": _note(finding)}
    outcome = "differs in places" if regions else about_finish.LEFT_OPEN if doubts else "even"
    return {**body, "outcome": outcome, "note": _note(finding) + told}


def _counted_elsewhere(
    finding: FinishFinding, state: DossierState, chronology: Chronology, id_: str
) -> str:
    """Why this look has no likelihoods of its own; empty where it has."""
    once = same_look(state, chronology, finding.uv)
    if once is not None:
        return f" The same look as {once.id}, counted once, through that."
    frame = state.photographs.get(finding.uv)
    slot = "" if frame is None else frame.slot
    if face_of(slot) in OF_NECK:
        return " Of the neck: it does not bear on the finish of the body."
    weighs = [one for one in looks_at_face(state, slot) if one.likelihoods and one.id != id_]
    if weighs:
        return f" The same face as in {weighs[0].id}, counted once, through that."
    return ""


def _why_not(finding: FinishFinding) -> str:
    reasons = "; ".join(f"{one.found} ({one.code})" for one in finding.assessment.reasons)
    return f"Not assessable, because {reasons}. Finding {finding.digest[:12]}."


def _note(finding: FinishFinding) -> str:
    regions = finding.assessment.regions
    left_open = about_finish.open_words(len(finding.assessment.doubts))
    if not regions:
        seen = left_open or "Even (cohesive) where assessed."
    else:
        seen = about_finish.kinds_words(
            [(one.number, one.kind.value, one.area_cm2) for one in regions]
        )
        seen += f" {left_open}" if left_open else ""
    if finding.further:
        seen += f" {about_finish.moved_words(1 + len(finding.further), finding.assessment.brushed)}"
    return f"{seen} Accuracy known on {about_finish.BASIS}. Finding {finding.digest[:12]}."
