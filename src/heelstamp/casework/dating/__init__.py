"""Dating a dossier: observations translated, inferred, checked, and written down as a finding."""

from heelstamp.casework.dating.finding import (
    Completion,
    DateFinding,
    LeftOut,
    Mode,
    ObservationFinding,
    ReadingFound,
    Spread,
)
from heelstamp.casework.dating.procedure import date_instrument, mark_periods, ready_model

__all__ = [
    "Completion",
    "DateFinding",
    "LeftOut",
    "Mode",
    "ObservationFinding",
    "ReadingFound",
    "Spread",
    "date_instrument",
    "mark_periods",
    "ready_model",
]
