"""Readings at the jack: taken from options or entries, worked out, compared, and put into words."""

from heelstamp.casework.jack.finding import JackFinding
from heelstamp.casework.jack.procedure import examine_jack
from heelstamp.casework.jack.request import JackRequest, Measured, SeenRow, Sets

__all__ = ["JackFinding", "JackRequest", "Measured", "SeenRow", "Sets", "examine_jack"]
