"""What does not fit, and what the conclusion hangs on: conflicts, sensitivity, wear, agreement."""

from heelstamp.casework.doubts.finding import (
    AgreementFinding,
    ConflictFinding,
    DecidingFinding,
    DoubtFinding,
    HangsOn,
    SensitivityFinding,
    SensitivityRow,
    StoryFinding,
    Turn,
    Unsettled,
)
from heelstamp.casework.doubts.procedure import examine_doubts, examine_sensitivity

__all__ = [
    "AgreementFinding",
    "ConflictFinding",
    "DecidingFinding",
    "DoubtFinding",
    "HangsOn",
    "SensitivityFinding",
    "SensitivityRow",
    "StoryFinding",
    "Turn",
    "Unsettled",
    "examine_doubts",
    "examine_sensitivity",
]
