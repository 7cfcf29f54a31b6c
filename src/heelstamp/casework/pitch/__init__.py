"""Pitch of plucked notes: from recordings to a finding, a table of intonation, an entry."""

from heelstamp.casework.pitch.entry import pitch_entry
from heelstamp.casework.pitch.finding import IntonationFinding, PitchFinding
from heelstamp.casework.pitch.procedure import intonation_of, measure_pitch

__all__ = ["IntonationFinding", "PitchFinding", "intonation_of", "measure_pitch", "pitch_entry"]
