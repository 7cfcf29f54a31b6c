"""What is not to be touched, and the cautions that stand beside the acts.

Common practice of the trade, no source. An original nut, frets and a rod cannot be given back once
they are filed or snapped; a price for the work can be. Cautions are printed where the act is.
"""

from __future__ import annotations

from heelstamp.casework.setup.board import BoardFindings
from heelstamp.casework.setup.plan import SetupPlan
from heelstamp.catalogue import DossierState
from heelstamp.mechanics.rod import CAUTION as ROD_CAUTION
from heelstamp.wording import about_setup

NUT_CAUTION = (
    "Old nuts are brittle and often held by the strings alone: lift strings out of the slots, not "
    "sideways, and do not knock the nut."
)
LACQUER_CAUTION = (
    "Lacquer: no plastic or rubber on the finish, cover it under tools, no liquid near it."
)
SETTLING = (
    "A neck moves for hours to days after a change of tension: judge the relief after a night at "
    "pitch."
)


def contraindications(
    state: DossierState, plan: SetupPlan, board: BoardFindings
) -> tuple[str, ...]:
    """Return what is not to be touched, and what to do instead."""
    buzzing = {row.held for _, rows in board.buzz for row in rows if row.verdict == "buzzes"}
    told = [
        about_setup.nut_kept.say(
            odd=[name for name, slot in board.slots if slot.verdict in ("low", "high")],
            unclear=[name for name, slot in board.slots if slot.verdict == "too close to call"],
            read=bool(board.slots),
        ),
        about_setup.frets_kept.say(buzzing=sorted(buzzing)),
    ]
    if plan.rod is None or plan.rod.act != "turn":
        told.append(about_setup.rod_not_turned.say(reasons=plan.rod.reasons if plan.rod else ()))
    if plan.shim is not None or state.of_part("shim"):
        told.append(about_setup.shim_kept.say())
    best = board.fits[0] if board.fits else None
    if best is not None and best.misplaced:
        told.append(about_setup.frets_out_of_place.say())
    return tuple(told)


def cautions(plan: SetupPlan) -> tuple[str, ...]:
    """The cautions for the acts of this plan."""
    held = plan.found or plan.new
    told = [about_setup.strings_caution.say(pull_n=held.tension_n.value if held else None)]
    if plan.rod is not None:
        told.append(ROD_CAUTION)
    return (*told, NUT_CAUTION, LACQUER_CAUTION, SETTLING)
