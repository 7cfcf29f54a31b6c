"""What is known of one maker: read from a document, turned into the tables of a dating model."""

from heelstamp.chronology.contents import Chronology
from heelstamp.chronology.document import parse_chronology, read_chronology
from heelstamp.chronology.records import CHRONOLOGY_SCHEMA
from heelstamp.chronology.serials import SerialCurve
from heelstamp.chronology.tables import dating_model, feature_on, sign_on

__all__ = [
    "CHRONOLOGY_SCHEMA",
    "Chronology",
    "SerialCurve",
    "dating_model",
    "feature_on",
    "parse_chronology",
    "read_chronology",
    "sign_on",
]
