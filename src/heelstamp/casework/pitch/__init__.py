"""Pitch of plucked notes: from recordings to a finding, a table of intonation, an entry."""

from heelstamp.casework.pitch.entry import entered_pitch, entered_pitches, pitch_entry
from heelstamp.casework.pitch.finding import IntonationFinding, PitchFinding
from heelstamp.casework.pitch.procedure import intonation_of, measure_pitch

__all__ = [
    "IntonationFinding",
    "PitchFinding",
    "entered_pitch",
    "entered_pitches",
    "intonation_of",
    "measure_pitch",
    "pitch_entry",
]
