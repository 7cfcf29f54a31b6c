"""The plan of a setup, in the order of the work.

Values come as text with unit and standard uncertainty (``Quantity``), signs as numbers. Nothing
here computes a plan, and what a screen shows beside a sentence is what it rests on.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.units import Quantity
from heelstamp.wording.sentences import sentence


@sentence("setup pull", "inferred", 2)
def pull(*, change: Quantity, ratio: float, weight: Quantity) -> str:
    return (
        f"The new set changes the pull by {change}, to {ratio:.3f} of what it was; weight {weight}."
    )


@sentence("setup neck", "inferred", 2)
def neck(*, bow: Quantity, basis: str) -> str:
    return f"This neck bows {bow} for 100 N ({basis})."


@sentence("setup relief", "inferred", 2)
def relief(*, expected: Quantity, low_mm: float, high_mm: float) -> str:
    return (
        "Relief to expect under the new set, rested, before any turn of the truss rod: "
        f"{expected}; 90 % between {low_mm:.2f} and {high_mm:.2f} mm."
    )


@sentence("setup rod", "opinion", 14)
def rod(*, after_steps: bool, act: str, turns: float, reasons: Sequence[str]) -> str:
    """Advice on the truss rod: *turns* of one step, tighter counted positive."""
    name = "Truss rod, after the steps recorded" if after_steps else "Truss rod"
    told = act
    if act == "turn":
        way = "tighter" if turns > 0 else "slacker"
        told = f"{abs(turns):.3g} turn {way}, one step"
    return f"{name}: {told}. {' '.join(reasons)}"


@sentence("setup tool", "inferred", 14)
def tool(*, tool: str, play: Quantity, margin: Quantity, fits: bool | None) -> str:
    """How a tool fills the drive of the truss rod, with what is left before it is loose."""
    where = "on the drive, across flats" if tool == "key" else "in its slot"
    if fits is None:
        told = f"too close to call: read both again, or take a {tool} that fills it better"
    elif fits:
        told = f"it fills the drive, with {margin} to spare before it counts as loose"
    else:
        told = "it does not go in" if play.value < 0 else "it does not fill the drive"
    return f"The {tool} has {play} of play {where}: {told}."


@sentence("setup saddles", "opinion", 14)
def saddles(*, side: str, move: Quantity, rod_turned: bool) -> str:
    """How far the saddles of one side go, up counted positive."""
    held = "once the relief is at its target" if rod_turned else "with the truss rod as it is"
    return f"Saddles, {side}, {held}: {'down' if move.value < 0 else 'up'} by {_size(move)}."


@sentence("setup shim", "inferred", 2)
def shim(*, angle: Quantity, at_saddles: Quantity) -> str:
    return (
        f"The shim tilts the neck by {angle}: {at_saddles} at the saddles, seen from the last "
        "fret; it is left in place."
    )


@sentence("setup intonation", "opinion", 14)
def intonation(*, string: str, off: Quantity, back: Quantity) -> str:
    """How far a saddle goes, back counted positive, and the octave's error."""
    way = "back" if back.value > 0 else "forward"
    return f"Intonation, {string}: {off} at the octave, saddle {way} by {_size(back)}."


def _size(value: Quantity) -> Quantity:
    return Quantity(abs(value.value), value.unit, value.uncertainty)


@sentence("setup nut kept", "opinion", 14)
def nut_kept(*, odd: Sequence[str], unclear: Sequence[str], read: bool) -> str:
    """Slots out of the usual, slots too close to call, and whether any slot was read."""
    told = "Nut: not filed and not built up; that cannot be undone."
    if odd:
        told += f" Out of the usual: {', '.join(odd)}. Price a nut, keep this one."
    elif not read:
        told += " Its slots were not read (clearance over the 1st fret, held at the 3rd)."
    return told + (f" Too close to call: {', '.join(unclear)}." if unclear else "")


@sentence("setup frets kept", "opinion", 14)
def frets_kept(*, buzzing: Sequence[int]) -> str:
    """Frets held, 0 an open string, at which a buzz is expected."""
    told = "Frets: not dressed or levelled; that cannot be undone."
    if buzzing:
        named = ", ".join("open" if held == 0 else str(held) for held in buzzing)
        told += f" Buzz is expected for the pluck assumed when held at: {named}."
        told += " Raise the action, or price the work."
    return told


@sentence("setup fret life", "measured", 9)
def fret_life(
    *, fret: int, lowest: Quantity, least: Quantity, dressings: int, worn: Sequence[int]
) -> str:
    """The lowest crown, how many dressings can be counted on, and frets worn below the others."""
    often = {0: "no dressing can be counted on", 1: "one dressing can be counted on"}
    told = (
        f"Frets: the lowest crown is fret {fret} at {lowest}; "
        f"{often.get(dressings, f'{dressings} dressings can be counted on')} before it is under "
        f"{least.value:g} {least.unit} (common practice)."
    )
    if worn:
        told += f" Worn below the others: {', '.join(map(str, worn))}."
    return told


@sentence("setup fret wear", "measured", 9)
def fret_wear(
    *, deepest: Quantity | None, fret: int, string: int, zones: Sequence[tuple[str, int, int]]
) -> str:
    """Where playing took the crowns down: the deepest, and how many in each part of the board."""
    against = "against the crowns beyond the 12th fret, which are played least"
    if deepest is None:
        return f"Playing wear: no crown is lower than its reading leaves open, {against}."
    told = "; ".join(f"{name}: {count} of {read} crowns read" for name, count, read in zones)
    return (
        f"Playing wear: deepest at fret {fret} under string {string}, {deepest} lower, {against}. "
        f"Lower than their reading leaves open: {told}."
    )


@sentence("setup fret crowns", "measured", 9)
def fret_crowns(*, narrowest: float, widest: float, wire: str = "") -> str:
    """Width of the crowns that were read, mm, and what such wire is called."""
    called = f": {wire} wire (common practice)" if wire else ""
    if narrowest == widest:
        return f"Crowns: {narrowest:g} mm wide{called}."
    return f"Crowns: {narrowest:g} to {widest:g} mm wide{called}."


@sentence("setup board radius", "measured", 9)
def board_radius(*, radius: Quantity) -> str:
    return f"Fingerboard: radius {radius}."


@sentence("setup rod not turned", "opinion", 14)
def rod_not_turned(*, reasons: Sequence[str]) -> str:
    """Why; without reasons nothing was planned."""
    why = " ".join(reasons)
    return f"Truss rod: {why or 'not turned; a relief read and one intended are needed first.'}"


@sentence("setup shim kept", "opinion", 14)
def shim_kept() -> str:
    return "Shim: left where it lies; it tells of the neck's past."


@sentence("setup frets out of place", "opinion", 14)
def frets_out_of_place() -> str:
    return "Frets out of place: stated with their cents, not moved."


@sentence("setup strings caution", "opinion", 14)
def strings_caution(*, pull_n: float | None) -> str:
    """Eyes and hands at strings under a pull in newtons; None where it is not known."""
    begin = "At pitch" if pull_n is None else f"The set pulls with {pull_n:.0f} N"
    return (
        f"{begin}: goggles on, slacken all strings evenly before one is cut, never cut at pitch, "
        "mind the free ends; if the bridge floats, change one string at a time or block it first."
    )
