"""Frets, nut and saddles one by one: places, slots, clearances, and where each saddle goes.

Built on the plan: clearances are those of the intended relief and action (as read or predicted
where none is intended). Frets not measured are taken as level to 0.03 mm, the clearance over the
first fret as 0.45 mm, a pluck as 0.4 mm high, 130 mm before the saddle: judgement, and said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from statistics import median
from typing import TypeVar

from heelstamp.casework.setup.plan import SIDES, SetupPlan
from heelstamp.casework.setup.records import SetupRecord
from heelstamp.errors import InputError
from heelstamp.mechanics import Estimate
from heelstamp.mechanics.clearance import BuzzRow, Pluck, StringLine, buzz_rows
from heelstamp.mechanics.fret_fit import LEAST_FRETS, FretFit, FretReading, fit_board
from heelstamp.mechanics.fret_life import FretLife, board_radius_mm, fret_life
from heelstamp.mechanics.fret_wear import FretWear, fret_wear
from heelstamp.mechanics.intonation import FrettedString, extension_mm, saddle_move_mm, set_back_mm
from heelstamp.mechanics.nut import NutSlot, nut_slot
from heelstamp.mechanics.saddles import action_targets

Made = TypeVar("Made")
PLUCK = Pluck(amplitude_mm=0.4, before_saddle_mm=130.0)
"""The part of a moderate stroke that is square to the board; judgement."""
FIRST_CLEARANCE = (0.45, 0.10)
LEVEL_MM = 0.03
OCTAVE = 12


@dataclass(frozen=True, slots=True)
class SaddleMove:
    """Where one saddle goes for intonation: mm back (negative: forward) for the cents read."""

    name: str
    cents: Estimate
    back_mm: Estimate


@dataclass(frozen=True, slots=True)
class SetBack:
    """What pressing does to one string of the new set at the octave, and the set-back for it."""

    number: int
    label: str
    sharp_cents: float
    set_back_mm: float


@dataclass(frozen=True, slots=True)
class BoardFindings:
    """What the board, the nut and the saddles say.

    Attributes
    ----------
    fits
        Fret places by rule, the best first; empty when too few were read.
    slots
        Nut slots by name.
    buzz
        Tightest places by side.
    life
        What is left of the frets; None where no height was read.
    wear
        Where playing took the crowns down; None where too few were read.
    crowns_mm
        Least and greatest width of a crown that was read.
    radius_mm
        Of the fingerboard, from chord and rise at one fret; None where both were not read.
    moves
        Saddle moves for the intonation read.
    set_backs
        Expected, string by string, at the planned action.
    assumed, withheld
        Sentences; what could not be computed of readings that cannot be, with what is wrong.
    """

    fits: tuple[FretFit, ...] = ()
    slots: tuple[tuple[str, NutSlot], ...] = ()
    buzz: tuple[tuple[str, tuple[BuzzRow, ...]], ...] = ()
    life: FretLife | None = None
    wear: FretWear | None = None
    crowns_mm: tuple[float, float] | None = None
    radius_mm: Estimate | None = None
    moves: tuple[SaddleMove, ...] = ()
    set_backs: tuple[SetBack, ...] = ()
    assumed: tuple[str, ...] = ()
    withheld: tuple[str, ...] = ()


def board_findings(record: SetupRecord, plan: SetupPlan, pluck: Pluck = PLUCK) -> BoardFindings:
    """Compute what the readings and the plan allow; what cannot be withholds itself alone."""
    assumed: list[str] = []
    withheld: list[str] = []
    none: tuple[BuzzRow, ...] = ()

    def tried(what: str, make: Callable[[], Made], otherwise: Made) -> Made:
        try:
            return make()
        except InputError as error:
            withheld.append(f"{what}: {error}")
            return otherwise

    return BoardFindings(
        fits=_fits(record),
        slots=tuple(
            (f"string {one.string}" if one.string else one.side or "nut", nut_slot(one.value))
            for one in record.of("nut clearance")
            if one.held == 3
        ),
        buzz=tuple(
            (side, rows)
            for side in planned_action(plan)
            if (
                rows := tried(
                    f"Buzz, {side}", partial(_buzz, record, plan, pluck, side, assumed), none
                )
            )
        ),
        life=tried("What is left of the frets", partial(_life, record), None),
        wear=_wear(record),
        crowns_mm=_crowns(record),
        radius_mm=tried("Radius of the fingerboard", partial(_radius, record), None),
        moves=_moves(record, plan),
        set_backs=_set_backs(plan),
        assumed=tuple(dict.fromkeys(assumed)),
        withheld=tuple(withheld),
    )


def planned_action(plan: SetupPlan) -> dict[str, Estimate]:
    """The action by side that the plan ends at: intended, else predicted."""
    return {
        side: value
        for side in SIDES
        if (value := plan.action_target.get(side) or plan.action_predicted.get(side)) is not None
    }


def planned_relief(plan: SetupPlan) -> Estimate | None:
    """The relief that the plan ends at: intended, else predicted."""
    return plan.relief_target or plan.relief_predicted


def _fits(record: SetupRecord) -> tuple[FretFit, ...]:
    latest = {one.fret: one for one in record.of("fret place")}
    readings = tuple(
        FretReading(fret, one.value.value, one.value.uncertainty)
        for fret, one in latest.items()
        if fret is not None
    )
    return fit_board(readings) if len(readings) >= LEAST_FRETS else ()


def _buzz(
    record: SetupRecord, plan: SetupPlan, pluck: Pluck, side: str, assumed: list[str]
) -> tuple[BuzzRow, ...]:
    shape, relief = plan.shape, planned_relief(plan)
    if shape is None or relief is None or shape.last_fret < OCTAVE:
        return ()
    profile = shape.profile(relief.value)
    assumed.append(
        f"Clearances are for a pluck {pluck.amplitude_mm:g} mm high square to the fingerboard, "
        f"{pluck.before_saddle_mm:g} mm before the saddle."
    )
    read = record.last("nut clearance", held=None, side=side)
    if read is None:
        assumed.append(
            "The open strings' clearance over fret 1 was not read; "
            f"{FIRST_CLEARANCE[0]} ± {FIRST_CLEARANCE[1]} mm is taken."
        )
    first = read.value if read else Estimate.of(*FIRST_CLEARANCE, "clearance over fret 1")
    heights = _heights(record, side, assumed)
    if len(heights) < shape.last_fret:
        assumed.append(f"Frets whose height was not read are taken as level to {LEVEL_MM} mm.")
    level = median(one.value for one in heights.values()) if heights else 0.0
    tops = tuple(
        heights.get(fret, Estimate.of(level, LEVEL_MM, f"height of fret {fret}")) + profile[fret]
        for fret in range(1, shape.last_fret + 1)
    )
    line = StringLine(shape.scale_mm, tops, first, planned_action(plan)[side])
    return buzz_rows(line, pluck)


def _heights(record: SetupRecord, side: str, assumed: list[str]) -> dict[int, Estimate]:
    """The latest top of each fret under the strings of a side, above one straight line.

    Tops are read against a straight edge; where none was, crowns above the wood stand for them, the
    wood taken as straight. Of readings under a string the outermost are the sides: string 1 is the
    treble, the highest number the bass.
    """
    reads = [one for one in record.of("fret height") if one.fret is not None]
    if not reads:
        reads = [one for one in record.of("crown height") if one.fret is not None]
        if reads:
            assumed.append("Crowns were read above the wood, which is taken as straight.")
    named = [one.string for one in reads if one.string is not None]
    outer = {"treble": 1, "bass": max(named, default=0)}[side]
    found: dict[int, Estimate] = {}
    for one in reads:
        anywhere = one.string is None and not one.side
        if one.fret is not None and (anywhere or one.side == side or one.string == outer):
            found[one.fret] = one.value
    return found


def _life(record: SetupRecord) -> FretLife | None:
    latest: dict[tuple[int, int | None, str], Estimate] = {}
    for one in record.of("crown height"):
        if one.fret is not None:
            latest[(one.fret, one.string, one.side)] = one.value
    heights: dict[int, tuple[Estimate, ...]] = {}
    for (fret, _, _), value in latest.items():
        heights[fret] = (*heights.get(fret, ()), value)
    return fret_life(heights) if heights else None


def _wear(record: SetupRecord) -> FretWear | None:
    return fret_wear(
        {
            (one.string, one.fret): one.value
            for one in record.of("crown height")
            if one.string is not None and one.fret is not None
        }
    )


def _crowns(record: SetupRecord) -> tuple[float, float] | None:
    widths = [one.value.value for one in record.of("crown width")]
    return (min(widths), max(widths)) if widths else None


def _radius(record: SetupRecord) -> Estimate | None:
    for rise in reversed(record.of("board rise")):
        chord = record.last("board chord", fret=rise.fret)
        if chord is not None:
            try:
                return board_radius_mm(chord.value, rise.value)
            except InputError as error:
                raise error.at(f"{chord.id} and {rise.id}") from None
    return None


def _moves(record: SetupRecord, plan: SetupPlan) -> tuple[SaddleMove, ...]:
    if plan.shape is None:
        return ()
    scale = record.last("scale")
    assert scale is not None
    reads = [one for one in record.of("intonation") if one.stage != "final"]
    named = [(f"string {one.string}" if one.string else "string not named", one) for one in reads]
    if not named:
        worst = [one for one in record.of("worst intonation") if one.stage != "final"]
        named = [("worst string", one) for one in worst[-1:]]
    return tuple(
        SaddleMove(name, one.value, saddle_move_mm(one.value, scale.value, fret=one.fret or OCTAVE))
        for name, one in named
    )


def _set_backs(plan: SetupPlan) -> tuple[SetBack, ...]:
    strings, tuned_set, shape = plan.new_set, plan.new, plan.shape
    actions = planned_action(plan)
    if strings is None or tuned_set is None or shape is None or len(actions) < len(SIDES):
        return ()
    treble, bass = (actions[side].value for side in SIDES)
    each = action_targets(treble, bass, len(strings.strings))
    found = []
    for spec, one, action in zip(strings.strings, tuned_set.strings, each, strict=True):
        if spec.core_mm is None or spec.modulus_pa is None:
            continue
        nut = FIRST_CLEARANCE[0]
        saddle = nut + (action - nut) * 2.0
        string = FrettedString(shape.scale_mm, one.tension_n.value, spec.core_mm, spec.modulus_pa)
        longer = extension_mm(shape.scale_mm, OCTAVE, nut_mm=nut, fret_mm=0.0, saddle_mm=saddle)
        shift = string.shift(OCTAVE, longer)
        rise = string.tension_rise_n(longer)
        back = set_back_mm(shape.scale_mm, one.tension_n.value, rise)
        found.append(SetBack(one.number, one.label, shift.cents, back))
    return tuple(found)
