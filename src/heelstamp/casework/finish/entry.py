"""What an assessed pair leaves in a dossier: one observation of the finish with likelihoods.

The same look is counted once. A pair whose UV frame a glow observation already names is refused;
where a sign that the chronology weighs was read from that frame, the glow is entered as seen,
without likelihoods. Two faces of one instrument are taken as independent given the state of the
finish: that overstates two even faces somewhat, and moves the first coat against an old complete
refinish not at all.
"""

from __future__ import annotations

from typing import Any

from heelstamp.casework.chronology import Chronology
from heelstamp.casework.finish.finding import BASIS, FinishFinding
from heelstamp.catalogue import DossierState, Observation
from heelstamp.errors import ConflictError, InputError
from heelstamp.wording import about_finish

SIGN = "glow"
PART = "finish"


def same_look(state: DossierState, chronology: Chronology, uv: str) -> Observation | None:
    """Give the observation of the finish through which this look counts already, if there is one.

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
    finding: FinishFinding, state: DossierState, chronology: Chronology, *, id_: str
) -> dict[str, Any]:
    """Give the body of the observation to append.

    Parameters
    ----------
    finding
        Of two frames of this dossier, named by their ids.
    id_
        Id of the new entry.

    Raises
    ------
    InputError
        The pair was refused: nothing was seen that could be entered.
    ConflictError
        A glow observation names this UV frame already.
    """
    if not finding.assessed:
        raise InputError(
            "a refused pair is not entered",
            where=f"{finding.visible} and {finding.uv}",
            received=", ".join(reason.code for reason in finding.assessment.reasons),
            remedy="Take the pair again as the reasons say.",
        )
    for seen in state.observations.values():
        if seen.sign == SIGN and finding.uv in seen.frames:
            raise ConflictError(
                "this look is entered already",
                where=f"frame {finding.uv}",
                received=f"observation {seen.id}",
                remedy="Correct or withdraw that observation first.",
            )
    body: dict[str, Any] = {
        "id": id_,
        "part": PART,
        "kind": "sign",
        "status": "read",
        "sign": SIGN,
        "frames": [finding.visible, finding.uv],
    }
    earlier = same_look(state, chronology, finding.uv)
    if earlier is None:
        return {**body, "likelihoods": finding.likelihoods(), "note": _note(finding)}
    once = f" The same look as {earlier.id}, counted once, through that."
    outcome = "differs in places" if finding.assessment.regions else "even"
    return {**body, "outcome": outcome, "note": _note(finding) + once}


def _note(finding: FinishFinding) -> str:
    regions = finding.assessment.regions
    if not regions:
        seen = "Even (cohesive) where assessed."
    else:
        told = [
            f"region {one.number} {about_finish.KINDS[one.kind.value]}"
            + ("" if one.area_cm2 is None else f", {about_finish.area_told(one.area_cm2, None)}")
            for one in regions
        ]
        seen = f"Differs in {len(regions)} place{'s' if len(regions) > 1 else ''}: "
        seen += "; ".join(told) + "."
    return f"{seen} Accuracy known on {BASIS}. Finding {finding.digest[:12]}."
