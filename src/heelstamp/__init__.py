"""Heelstamp: date an old electric guitar from its parts, and keep the record of how."""

__version__ = "0.1.0"
