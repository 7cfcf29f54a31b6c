"""What a recording says: the pitch of a fitted string, and noise of the controls."""

from heelstamp.acoustics.finding import NotePitch, Partial, Reason
from heelstamp.acoustics.intonation import StringIntonation, pair_up, string_intonation
from heelstamp.acoustics.note_pitch import pitch
from heelstamp.acoustics.recording import Recording

__all__ = [
    "NotePitch",
    "Partial",
    "Reason",
    "Recording",
    "StringIntonation",
    "pair_up",
    "pitch",
    "string_intonation",
]
