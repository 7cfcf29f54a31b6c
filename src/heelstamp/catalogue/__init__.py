"""What is recorded of an instrument: parts, entries, the journal's fold, custody, consent."""

from heelstamp.catalogue.consent import Leave, leave_for, require_leave
from heelstamp.catalogue.corrections import Version
from heelstamp.catalogue.entries import (
    INSTRUMENT_ID,
    KINDS,
    Body,
    Consent,
    Contents,
    Correction,
    Custody,
    Decision,
    Instrument,
    Measurement,
    Photograph,
    Recording,
    Statement,
    Treatment,
    body_data,
    body_id,
    parse_body,
    parse_time,
)
from heelstamp.catalogue.journal import Entry, envelope, parse_entry
from heelstamp.catalogue.observations import STATUSES, Observation, Reading
from heelstamp.catalogue.parts import Opening, Part, PartsTree, parse_parts_tree
from heelstamp.catalogue.state import Dangling, DossierState, Entered, Folding, fold, place_of

__all__ = [
    "INSTRUMENT_ID",
    "KINDS",
    "STATUSES",
    "Body",
    "Consent",
    "Contents",
    "Correction",
    "Custody",
    "Dangling",
    "Decision",
    "DossierState",
    "Entered",
    "Entry",
    "Folding",
    "Instrument",
    "Leave",
    "Measurement",
    "Observation",
    "Opening",
    "Part",
    "PartsTree",
    "Photograph",
    "Reading",
    "Recording",
    "Statement",
    "Treatment",
    "Version",
    "body_data",
    "body_id",
    "envelope",
    "fold",
    "leave_for",
    "parse_body",
    "parse_entry",
    "parse_parts_tree",
    "parse_time",
    "place_of",
    "require_leave",
]
