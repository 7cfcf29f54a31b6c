"""Marks on parts: text in, weighted periods out, each with its rule and source."""

from heelstamp.marks.bound import BoundMark
from heelstamp.marks.patent import PatentAnchor, PatentTable
from heelstamp.marks.reader import EVERY_MONTH, READERS, MarkContext, read
from heelstamp.marks.reading import MarkReadings, Reading, Rejection
from heelstamp.marks.source_table import SourceCode, SourceDateRules
from heelstamp.marks.written_order import WritingRules, WrittenOrder

__all__ = [
    "EVERY_MONTH",
    "READERS",
    "BoundMark",
    "MarkContext",
    "MarkReadings",
    "PatentAnchor",
    "PatentTable",
    "Reading",
    "Rejection",
    "SourceCode",
    "SourceDateRules",
    "WritingRules",
    "WrittenOrder",
    "read",
]
