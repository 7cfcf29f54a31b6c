"""Strings, neck, action, intonation and frets: the instrument as its own spring balance.

Start at `relief.neck_spring` (a neck's stiffness from two readings) and `tension.tuned` (a set at
pitch). Every result is an `Estimate`: a value with its uncertainty, by source.
"""

from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.neck import NeckShape, action_change
from heelstamp.mechanics.relief import NeckSpring, ReliefReading, neck_spring
from heelstamp.mechanics.tension import TunedSet, change, tuned
from heelstamp.mechanics.windings import Construction, WireMaterial, mass_per_metre

__all__ = [
    "Construction",
    "Estimate",
    "NeckShape",
    "NeckSpring",
    "ReliefReading",
    "TunedSet",
    "WireMaterial",
    "action_change",
    "change",
    "exact",
    "mass_per_metre",
    "neck_spring",
    "tuned",
]
