"""Finish from a visible / UV-A pair: what was asked, what was found, what enters a dossier."""

from heelstamp.casework.finish.capture import Frames, Taken, check_taken
from heelstamp.casework.finish.entry import glow_entry, same_look
from heelstamp.casework.finish.finding import FinishFinding
from heelstamp.casework.finish.finding_file import KeptFinding, packed, unpacked
from heelstamp.casework.finish.procedure import Face, examine_face, examine_pair
from heelstamp.casework.finish.request import Lamp, PairRequest, read_masks, read_numbers

__all__ = [
    "Face",
    "FinishFinding",
    "Frames",
    "KeptFinding",
    "Lamp",
    "PairRequest",
    "Taken",
    "check_taken",
    "examine_face",
    "examine_pair",
    "glow_entry",
    "packed",
    "read_masks",
    "read_numbers",
    "same_look",
    "unpacked",
]
