"""Fret by fret: how far the string clears the frets beyond the one held, and where it would buzz.

Heights are those of the fret tops along one line under the string. The open string is fixed by two
readings, its clearance over the first fret and its action; from that its height at nut and saddle.
Held at a fret it runs straight from that fret's top to the saddle.

Vibration: an ideal string let go from a triangle of height a at the plucked point swings between
that triangle and its mirror image on the other side; its whole motion stays within the two
(d'Alembert's solution; any handbook of acoustics). Whichever way it was pulled, no point goes
deeper than the deeper of the two triangles. The same force gives a = F p (ℓ − p) / (T ℓ)
on a length ℓ plucked p before the saddle, so short strings swing less.

Limits: no damping, no stiffness, no turning of the plane of vibration, no nearness of magnets, no
buzz behind the held fret; a fret is a point. A player's amplitude varies by a factor of two, so the
margin is for the amplitude named, and *too close to call* is an answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Z_90, Estimate
from heelstamp.mechanics.frets import fret_share

Verdict = Literal["clear", "buzzes", "too close to call"]


@dataclass(frozen=True, slots=True)
class StringLine:
    """A string over its frets.

    Attributes
    ----------
    scale_mm
        Scale length.
    tops_mm
        Heights of the fret tops above any straight line; the first is fret 1.
    first_mm, action_mm
        Clearance of the open string over fret 1, and over *action_fret*.
    """

    scale_mm: float
    tops_mm: tuple[Estimate, ...]
    first_mm: Estimate
    action_mm: Estimate
    action_fret: int = 12

    def __post_init__(self) -> None:
        if len(self.tops_mm) < self.action_fret or self.action_fret < 2:
            raise InputError(
                "fret heights must reach beyond the fret at which action is read",
                received=f"{len(self.tops_mm)} frets, action at {self.action_fret}",
                remedy="Read every fret from the first to the last.",
            )
        last = self.tops_mm[-1].value
        if self.open_height(1.0).value < last:
            raise InputError(
                "heights that cross: the string would lie under the last fret at the saddle",
                received=f"{self.first_mm.value:g} mm over fret 1, {self.action_mm.value:g} mm "
                f"over fret {self.action_fret}",
                remedy="Read the clearance over fret 1 and the action again.",
            )

    def open_height(self, share: float) -> Estimate:
        """The open string's height at a share of the scale from the nut."""
        low, high = fret_share(1), fret_share(self.action_fret)
        at_first = self.tops_mm[0] + self.first_mm
        at_action = self.tops_mm[self.action_fret - 1] + self.action_mm
        return at_first + (at_action - at_first) * ((share - low) / (high - low))

    def clearance_mm(self, held: int, over: int) -> Estimate:
        """The clearance over fret *over* while *held* (0: open) is held."""
        top = self.tops_mm[over - 1]
        if held == 0:
            return self.open_height(fret_share(over)) - top
        start, saddle = self.tops_mm[held - 1], self.open_height(1.0)
        from_held = fret_share(over) - fret_share(held)
        return start + (saddle - start) * (from_held / (1.0 - fret_share(held))) - top


@dataclass(frozen=True, slots=True)
class Pluck:
    """How the string is plucked.

    Attributes
    ----------
    amplitude_mm
        Height to which the open string is pulled toward or away from the board.
    before_saddle_mm
        Where, from the saddle.
    """

    amplitude_mm: float
    before_saddle_mm: float

    def __post_init__(self) -> None:
        if not (self.amplitude_mm >= 0 and self.before_saddle_mm > 0):
            raise _no_pluck(self)

    def depth_mm(self, scale_mm: float, held: int, over: int) -> float:
        """How deep the string may swing over fret *over* while *held* is held, mm."""
        length = scale_mm * (1.0 - fret_share(held))
        pluck = min(self.before_saddle_mm, length / 2.0)
        whole = self.before_saddle_mm * (scale_mm - self.before_saddle_mm) / scale_mm
        height = self.amplitude_mm * (pluck * (length - pluck) / length) / whole
        here = scale_mm * (1.0 - fret_share(over))
        return height * max(_triangle(here, pluck, length), _triangle(here, length - pluck, length))


def _no_pluck(one: Pluck) -> InputError:
    return InputError(
        "a pluck has a height and a place on the string",
        received=f"{one.amplitude_mm:g} mm, {one.before_saddle_mm:g} mm before the saddle",
        remedy="Give for instance 1 mm, 130 mm before the saddle.",
    )


def _triangle(here: float, peak: float, length: float) -> float:
    return here / peak if here <= peak else (length - here) / (length - peak)


@dataclass(frozen=True, slots=True)
class BuzzRow:
    """The tightest place beyond one held fret.

    Attributes
    ----------
    held
        Fret held; 0 is the open string.
    over
        Fret where the margin is least.
    clearance_mm
        At rest, over that fret.
    margin_mm
        Clearance minus depth of swing; below nought the string meets the fret.
    """

    held: int
    over: int
    clearance_mm: Estimate
    margin_mm: Estimate
    verdict: Verdict


def buzz_rows(line: StringLine, pluck: Pluck) -> tuple[BuzzRow, ...]:
    """The tightest place for the open string and for every held fret but the last.

    Raises
    ------
    InputError
        A pluck outside the string.
    """
    if pluck.before_saddle_mm >= line.scale_mm:
        raise _no_pluck(pluck)
    rows = []
    for held in range(len(line.tops_mm)):
        options = []
        for over in range(held + 1, len(line.tops_mm) + 1):
            rest = line.clearance_mm(held, over)
            options.append((rest - pluck.depth_mm(line.scale_mm, held, over), over, rest))
        margin, over, rest = min(options, key=lambda one: one[0].value)
        reach = Z_90 * margin.uncertainty
        verdict: Verdict = "too close to call"
        if margin.value > reach:
            verdict = "clear"
        elif margin.value < -reach:
            verdict = "buzzes"
        rows.append(BuzzRow(held, over, rest, margin, verdict))
    return tuple(rows)
