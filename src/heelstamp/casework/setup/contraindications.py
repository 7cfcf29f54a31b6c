"""What to leave alone, and the cautions that stand beside the acts.

Common practice of the trade, no source. An original nut, frets and a rod cannot be given back once
they are filed or snapped; a price for the work can be. Cautions are printed where the act is.
"""

from __future__ import annotations

from heelstamp.casework.setup.board import BoardFindings
from heelstamp.casework.setup.plan import SetupPlan
from heelstamp.catalogue import DossierState
from heelstamp.mechanics.rod import CAUTION as ROD_CAUTION

STRINGS_CAUTION = (
    "{pull}goggles on, slacken all strings evenly before one is cut, never cut at pitch, mind the "
    "free ends; if the bridge floats, change one string at a time or block it first."
)
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


def left_alone(state: DossierState, plan: SetupPlan, board: BoardFindings) -> tuple[str, ...]:
    """Name what is not to be done, and what to do instead."""
    told = []
    odd = [name for name, slot in board.slots if slot.verdict in ("low", "high")]
    unclear = [name for name, slot in board.slots if slot.verdict == "too close to call"]
    nut = "Nut: not filed and not built up; that cannot be undone."
    if odd:
        nut += f" Out of the usual: {', '.join(odd)}. Price a nut, keep this one."
    elif not board.slots:
        nut += " Its slots were not read (clearance over the 1st fret, held at the 3rd)."
    if unclear:
        nut += f" Too close to call: {', '.join(unclear)}."
    told.append(nut)
    frets = "Frets: not dressed or levelled; that cannot be undone."
    buzzing = sorted(
        {row.held for _, rows in board.buzz for row in rows if row.verdict == "buzzes"}
    )
    if buzzing:
        named = ", ".join("open" if held == 0 else str(held) for held in buzzing)
        frets += f" Buzz is expected for the pluck assumed when held at: {named}."
        frets += " Raise the action, or price the work."
    told.append(frets)
    if plan.rod is not None and plan.rod.act != "turn":
        told.append("Rod: " + " ".join(plan.rod.reasons))
    elif plan.rod is None:
        told.append("Rod: not turned; a relief read and one intended are needed first.")
    if plan.shim is not None or state.of_part("shim"):
        told.append("Shim: left where it lies; it tells of the neck's past.")
    best = board.fits[0] if board.fits else None
    if best is not None and best.misplaced:
        told.append("Frets out of place: stated with their cents, not moved.")
    return tuple(told)


def cautions(plan: SetupPlan) -> tuple[str, ...]:
    """Give the cautions for the acts of this plan."""
    held = plan.found or plan.new
    pull = f"The set pulls with {held.tension_n.value:.0f} N: " if held else "At pitch: "
    told = [STRINGS_CAUTION.format(pull=pull)]
    if plan.rod is not None:
        told.append(ROD_CAUTION)
    return (*told, NUT_CAUTION, LACQUER_CAUTION, SETTLING)
