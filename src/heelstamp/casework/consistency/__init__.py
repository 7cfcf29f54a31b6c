"""Whether wear tells one story: the matrix of parts, and what stays unexplained."""

from heelstamp.casework.consistency.matrix import WEAR, Cell, Unexplained, WearFinding, examine_wear
from heelstamp.casework.consistency.wear_table import (
    Relation,
    WearSign,
    WearTable,
    parse_wear_table,
)

__all__ = [
    "WEAR",
    "Cell",
    "Relation",
    "Unexplained",
    "WearFinding",
    "WearSign",
    "WearTable",
    "examine_wear",
    "parse_wear_table",
]
