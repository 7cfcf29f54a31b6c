"""What a measured note leaves in a dossier: one measurement of the string's pitch in Hz."""

from __future__ import annotations

from typing import Any

from heelstamp.casework.pitch.finding import PitchFinding
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.bodies.quantities import PITCH
from heelstamp.errors import ConflictError, InputError

PART = "strings"


def pitch_entry(
    finding: PitchFinding, state: DossierState, recording: str, *, id_: str
) -> dict[str, Any]:
    """The body of the measurement to append.

    Parameters
    ----------
    finding
        Of a recording of this dossier.
    recording
        Id of the recording.
    id_
        Id of the new entry.

    Raises
    ------
    InputError
        The note was refused: there is nothing to enter.
    ConflictError
        The pitch of this recording is entered already.
    """
    one = finding.pitch
    if one.f1_hz is None or one.cents_sigma is None or one.cents is None:
        raise InputError(
            "a refused note is not entered",
            where=finding.recording.name,
            received=", ".join(reason.code for reason in one.reasons),
            remedy="Record the note again as the reasons say.",
        )
    if (earlier := entered_pitch(state, recording, finding.note)) is not None:
        raise ConflictError(
            "the pitch of this recording is entered already",
            where=f"recording {recording}",
            received=f"measurement {earlier}",
            remedy="Correct or withdraw that measurement first.",
        )
    # half of the 90 % interval over 1.645: what a normal interval of that width would have
    sigma = one.quantile / 1.645 * one.cents_sigma
    stiffness = "" if one.b is None else f" B {one.b:.3g}."
    later = "" if one.later_cents is None else f" {one.later_cents:+.2f} 1 s after the pluck."
    return {
        "id": id_,
        "quantity": PITCH,
        "heard": {"recordings": [recording], "note": str(finding.note), "finding": finding.digest},
        "part": state.recordings[recording].part or PART,
        "value": round(one.f1_hz, 6),
        "unit": "Hz",
        "uncertainty": float(f"{one.f1_hz * (2.0 ** (sigma / 1200.0) - 1.0):.3g}"),
        "stage": state.recordings[recording].stage,
        "note": f"{one.cents:+.2f} cents from {finding.note}, settled.{later}{stiffness}",
    }


def entered_pitches(state: DossierState) -> dict[tuple[str, str], str]:
    """Find the measurements of a recorded note's pitch, by recording and name of the note."""
    return {
        (one.heard.recordings[0], one.heard.note): one.id
        for one in state.measurements.values()
        if one.quantity == PITCH and one.heard is not None and one.heard.recordings
    }


def entered_pitch(state: DossierState, recording: str, note: object) -> str | None:
    """Find the measurement that says at which pitch a recorded note sounds; None without one."""
    return entered_pitches(state).get((recording, str(note)))
