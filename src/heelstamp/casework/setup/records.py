"""The setup's readings among a dossier's measurements, by their quantities.

A quantity that the setup reads has a unit and a usual uncertainty here; every other is left alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heelstamp.catalogue import DossierState, Measurement
from heelstamp.catalogue.bodies import quantities as q
from heelstamp.mechanics import Estimate

Role = Literal["read", "predicted", "intended"]
Side = Literal["treble", "bass", ""]

# quantity: (subject, standard uncertainty taken when none was recorded)
_SUBJECTS: dict[str, tuple[str, float]] = {
    q.RELIEF: ("relief", 0.03),
    q.ACTION: ("action", 0.05),
    q.SCALE_LENGTH: ("scale", 0.5),
    q.FRETS: ("frets", 0.0),
    q.JOINT_FRET: ("joint", 0.0),
    q.SHIM: ("shim", 0.02),
    q.POCKET: ("pocket", 0.5),
    q.INTONATION: ("intonation", 1.0),
    q.WORST_INTONATION: ("worst intonation", 1.0),
    q.FRET_HEIGHT: ("fret height", 0.02),
    q.FRET_PLACE: ("fret place", 0.1),
    q.CROWN_HEIGHT: ("crown height", 0.02),
    q.CROWN_WIDTH: ("crown width", 0.05),
    q.BOARD_CHORD: ("board chord", 0.2),
    q.BOARD_RISE: ("board rise", 0.02),
    q.NUT_CLEARANCE: ("nut clearance", 0.03),
    q.SADDLE_LOWERED: ("saddle", 0.05),
    q.SADDLE_RAISED: ("saddle", 0.05),
    q.STRING_TENSION: ("tension", 0.0),
    q.CASE_TEMPERATURE: ("case temperature", 0.5),
    q.ROOM_TEMPERATURE: ("room temperature", 0.5),
    q.HUMIDITY: ("humidity", 3.0),
    q.WEIGHT: ("weight", 2.0),
    q.ROD_DRIVE: ("rod drive", 0.02),
    q.ROD_KEY: ("rod key", 0.02),
    q.ROD_SLOT: ("rod slot", 0.02),
    q.ROD_BLADE: ("rod blade", 0.02),
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of the setup.

    Attributes
    ----------
    value
        In the subject's unit; its source of uncertainty is the id of the entry.
    role
        Read, predicted or intended.
    new_strings
        Whether it was read under the new set, before anything else was moved.
    fret, capo, held, string
        As named; None when not.
    down
        Semitones that all strings were tuned down; None with the strings off.
    uncertainty_taken
        Whether the entry gave no uncertainty and the usual one was taken.
    """

    id: str
    subject: str
    value: Estimate
    stage: str
    role: Role
    side: Side
    new_strings: bool
    fret: int | None
    capo: int | None
    held: int | None
    string: int | None
    down: float | None
    uncertainty_taken: bool


@dataclass(frozen=True, slots=True)
class SetupRecord:
    """All readings of a setup, in the order of entry."""

    readings: tuple[Reading, ...]

    def of(self, subject: str, **wanted: object) -> tuple[Reading, ...]:
        """The readings of a subject whose fields are as *wanted*."""
        return tuple(
            one
            for one in self.readings
            if one.subject == subject and all(getattr(one, k) == v for k, v in wanted.items())
        )

    def last(self, subject: str, **wanted: object) -> Reading | None:
        """The latest of them, or None."""
        found = self.of(subject, **wanted)
        return found[-1] if found else None


def read_record(state: DossierState) -> SetupRecord:
    """Pick out a setup's readings."""
    found = [reading_of(one) for one in state.measurements.values()]
    return SetupRecord(tuple(one for one in found if one is not None))


def reading_of(body: Measurement) -> Reading | None:
    """Read one measurement; None when it is none of a setup's."""
    row = _SUBJECTS.get(body.quantity)
    if row is None:
        return None
    subject, usual = row
    measured = body.measured.to(q.QUANTITIES[body.quantity].unit)
    value, at = measured.value, body.place
    return Reading(
        id=body.id,
        subject=subject,
        value=Estimate.of(
            -value if body.quantity == q.SADDLE_LOWERED else value,
            measured.uncertainty or usual,
            body.id,
        ),
        stage=body.stage,
        role=body.role,
        side=at.side or "",
        new_strings=body.strings == "new",
        fret=at.fret,
        capo=at.capo,
        held=at.held,
        string=at.string,
        down=None if body.strings == "off" else body.down,
        uncertainty_taken=measured.uncertainty == 0 and usual > 0,
    )
