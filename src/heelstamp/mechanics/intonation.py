"""Intonation: what pressing a string to a fret does to its pitch, and the saddle move that answers.

Pressed down, a string is longer by a few hundredths of a millimetre and pulls harder by
E·A·ΔL/L (A the core's section), which sharpens it by 600·log₂(1 + ΔT/T) cent. Stiffness sharpens by
the factor √(1 + B) with B = π³ E d⁴ / (64 T ℓ²) for the core's diameter d and length ℓ (pinned
ends; Fletcher, *J. Acoust. Soc. Am.* 36 (1964) 203), four times as much at the octave as open. A
saddle farther back flattens fretted notes more than open ones; the set-back that makes the octave
true is L (r − 1)/(2 − r) with r = √(1 + ΔT/T), the worked model of Varieschi and Gower (*Am. J.
Phys.* 78 (2010) 47) in exact geometry.

Where it stops holding: pressing behind the fret and bending aside add stretch that no gauge shows;
string ends beyond nut and saddle give when they stamp (`slack_mm`); a wound string's wrap carries
little tension, which is taken as none; dead strings are not judged.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, combine
from heelstamp.mechanics.frets import fret_share

CENTS = 1200.0  # per octave


def inharmonicity(modulus_pa: float, core_mm: float, tension_n: float, length_mm: float) -> float:
    """B of f_n = n f₀ √(1 + B n²) for a core of round wire; pure number."""
    core_m, length_m = 1e-3 * core_mm, 1e-3 * length_mm
    return math.pi**3 * modulus_pa * core_m**4 / (64.0 * tension_n * length_m**2)


def extension_mm(
    scale_mm: float, fret: int, *, nut_mm: float, fret_mm: float, saddle_mm: float
) -> float:
    """By how much a string grows when it is pressed to a fret.

    Parameters
    ----------
    scale_mm
        From nut to saddle along the board.
    nut_mm, fret_mm, saddle_mm
        Heights of nut slot, fret top and saddle slot above one line.
    """
    here = scale_mm * fret_share(fret)
    bent = math.hypot(here, fret_mm - nut_mm) + math.hypot(scale_mm - here, saddle_mm - fret_mm)
    return bent - math.hypot(scale_mm, saddle_mm - nut_mm)


@dataclass(frozen=True, slots=True)
class FrettedShift:
    """How far a fretted note lies from equal temperament on its open string, cent, by cause."""

    stretch: float
    stiffness: float
    length: float

    @property
    def cents(self) -> float:
        """All causes together; positive is sharp."""
        return self.stretch + self.stiffness + self.length


@dataclass(frozen=True, slots=True)
class FrettedString:
    """What the pitch of a fretted string depends on.

    Attributes
    ----------
    scale_mm
        Scale length that the frets were laid out for.
    set_back_mm
        How far behind it the saddle stands.
    tension_n
        Of the open string.
    core_mm, modulus_pa
        Core's diameter and Young's modulus.
    slack_mm
        Length beyond nut and saddle that shares the stretch.
    """

    scale_mm: float
    tension_n: float
    core_mm: float
    modulus_pa: float
    set_back_mm: float = 0.0
    slack_mm: float = 0.0

    def tension_rise_n(self, extension: float) -> float:
        """The tension in N that an extension in mm adds."""
        area = math.pi / 4.0 * (1e-3 * self.core_mm) ** 2
        return (
            self.modulus_pa * area * extension / (self.scale_mm + self.set_back_mm + self.slack_mm)
        )

    def shift(self, fret: int, extension: float) -> FrettedShift:
        """The shift of the note at *fret* when pressing adds *extension* mm of length."""
        rise = self.tension_rise_n(extension)
        whole = self.scale_mm + self.set_back_mm
        part = whole - self.scale_mm * fret_share(fret)
        open_b = inharmonicity(self.modulus_pa, self.core_mm, self.tension_n, whole)
        held_b = inharmonicity(self.modulus_pa, self.core_mm, self.tension_n + rise, part)
        ideal = 2.0 ** (fret / 12.0)
        return FrettedShift(
            stretch=CENTS / 2.0 * math.log2(1.0 + rise / self.tension_n),
            stiffness=CENTS / 2.0 * math.log2((1.0 + held_b) / (1.0 + open_b)),
            length=CENTS * math.log2(whole / part / ideal),
        )


def set_back_mm(scale_mm: float, tension_n: float, rise_n: float) -> float:
    """The saddle's set-back that makes the octave true against the stretch alone."""
    ratio = math.sqrt(1.0 + rise_n / tension_n)
    if not 1.0 <= ratio < 2.0:
        raise InputError(
            "no set-back answers such a rise of tension",
            received=f"{rise_n:g} N on {tension_n:g} N",
            remedy="Check the action and the string's core.",
        )
    return scale_mm * (ratio - 1.0) / (2.0 - ratio)


def saddle_move_mm(octave_cents: Estimate, scale_mm: Estimate, *, fret: int = 12) -> Estimate:
    """How far back the saddle goes (negative: forward), mm, to make a fretted note true.

    The sounding lengths are W and W − x; moving the saddle by s changes their ratio, and that alone
    must take the measured cents away. Stretch and stiffness are as before the move, which holds to
    1 % of it. Tune the open string again before judging.

    Parameters
    ----------
    octave_cents
        Fretted note minus what it should be over the open string; positive is sharp.
    scale_mm
        Present length from nut to saddle; the scale length will do (0.5 % of the move).
    fret
        Where the note was taken; 12 is the octave.

    Raises
    ------
    InputError
        More than 100 cent: a wrong string, a wrong fret, or a bridge in the wrong place.
    """
    if abs(octave_cents.value) > 100.0:
        raise InputError(
            "too far out for a saddle",
            received=f"{octave_cents.value:g} cent",
            remedy="Check the note, the string and the place of the bridge.",
        )
    share = fret_share(fret)
    if not 0 < share < 1:
        raise InputError("a fretted note is needed", received=fret, remedy="Give 12.")

    def move(cents: float, scale: float) -> float:
        stop = scale * share
        ratio = 2.0 ** (-cents / CENTS) * scale / (scale - stop)
        return float(stop * ratio / (ratio - 1.0) - scale)

    return combine(move, octave_cents, scale_mm)
