"""The plan of a setup in sentences: numbers and names for ``wording.about_setup``."""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.setup.board import BoardFindings
from heelstamp.casework.setup.sheet import SetupSheet
from heelstamp.mechanics.fret_life import LEAST_MM
from heelstamp.mechanics.fret_wear import wire_word
from heelstamp.mechanics.rod import RodAdvice, ToolFit
from heelstamp.units import Quantity
from heelstamp.wording import about_setup


@dataclass(frozen=True, slots=True)
class PlanDescription:
    """The plan in sentences, by where they are acted on, in the order of the work."""

    strings: tuple[str, ...]
    rod: tuple[str, ...]
    saddles: tuple[str, ...]
    shim: tuple[str, ...]
    intonation: tuple[str, ...]
    frets: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[str, ...]:
        """All sentences."""
        first = (*self.strings, *self.rod, *self.saddles, *self.shim)
        return (*first, *self.intonation, *self.frets)


def describe_plan(sheet: SetupSheet) -> PlanDescription:
    """Return the plan of a sheet in sentences."""
    plan, strings = sheet.plan, []
    if plan.change is not None:
        strings.append(
            about_setup.pull.say(
                change=plan.change.total_n.quantity("N"),
                ratio=plan.change.ratio.value,
                weight=plan.change.mass_g.quantity("g"),
            )
        )
    if plan.spring is not None:
        bow = (100.0 * plan.spring.compliance_mm_n).quantity("mm")
        strings.append(about_setup.neck.say(bow=bow, basis=plan.spring.basis))
        strings += plan.spring.doubts
    if plan.relief_predicted is not None:
        low, high = plan.relief_predicted.interval()
        expected = plan.relief_predicted.quantity("mm")
        strings.append(about_setup.relief.say(expected=expected, low_mm=low, high_mm=high))
    rods = ((plan.rod, False), (plan.rod_now, True))
    turned = plan.rod is not None and plan.rod.act == "turn"
    shim = plan.shim
    return PlanDescription(
        strings=tuple(strings),
        rod=(
            *((describe_tool(plan.tool),) if plan.tool is not None else ()),
            *(describe_rod(one, after_steps=after) for one, after in rods if one is not None),
        ),
        saddles=tuple(
            about_setup.saddles.say(side=side, move=move.quantity("mm"), rod_turned=turned)
            for side, move in plan.saddles_mm.items()
        ),
        shim=()
        if shim is None
        else (
            about_setup.shim.say(
                angle=shim.angle_deg.quantity("°"), at_saddles=shim.at_saddles_mm.quantity("mm")
            ),
        ),
        intonation=tuple(
            about_setup.intonation.say(
                string=one.name, off=one.cents.quantity("cent"), back=one.back_mm.quantity("mm")
            )
            for one in sheet.board.moves
        ),
        frets=describe_frets(sheet.board),
    )


def describe_frets(board: BoardFindings) -> tuple[str, ...]:
    """Say what is left of the frets, their width and the radius of the board, as far as read."""
    told = []
    if board.life is not None:
        told.append(
            about_setup.fret_life.say(
                fret=board.life.lowest_fret,
                lowest=board.life.lowest_mm.quantity("mm"),
                least=Quantity(LEAST_MM, "mm", 0.0),
                dressings=board.life.dressings,
                worn=board.life.worn,
            )
        )
    if board.wear is not None:
        deepest = board.wear.deepest
        told.append(
            about_setup.fret_wear.say(
                deepest=None if deepest is None else deepest.loss_mm.quantity("mm"),
                fret=0 if deepest is None else deepest.fret,
                string=0 if deepest is None else deepest.string,
                zones=board.wear.zones,
            )
        )
    if board.crowns_mm is not None:
        narrowest, widest = board.crowns_mm
        told.append(
            about_setup.fret_crowns.say(
                narrowest=narrowest, widest=widest, wire=wire_word(narrowest, widest)
            )
        )
    if board.radius_mm is not None:
        told.append(about_setup.board_radius.say(radius=board.radius_mm.quantity("mm")))
    return tuple(told)


def describe_tool(one: ToolFit) -> str:
    """Return how the tool fills the rod's drive in a sentence."""
    return about_setup.tool.say(
        tool=one.tool,
        play=one.play_mm.quantity("mm"),
        margin=Quantity(one.margin_mm, "mm", one.play_mm.uncertainty),
        fits=one.fits,
    )


def describe_rod(one: RodAdvice, *, after_steps: bool = False) -> str:
    """Return advice on the truss rod in a sentence."""
    return about_setup.rod.say(
        after_steps=after_steps, act=one.act, turns=one.turns, reasons=one.reasons
    )
