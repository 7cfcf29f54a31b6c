"""Pickups and pots read at the jack, and capacitors.

Every sentence names what it rests on. A census gives the range seen and nothing more: a value is
inside or outside it, and no sentence says that a pickup was wound again. Ohms are passed as numbers
with their standard uncertainty.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from heelstamp.wording.sentences import sentence


class Ohms(NamedTuple):
    """A resistance with its standard uncertainty, and the least and most of the meter, ohm."""

    ohm: float
    standard: float
    least: float
    most: float


class WiringAccount(NamedTuple):
    """What the readings come to under one wiring, ohm."""

    wiring: str
    pot: float
    pickup: float


def ohms(value: float, standard: float | None = None) -> str:
    """Write a resistance in kΩ, with its standard uncertainty.

    Examples
    --------
    >>> ohms(241004.3, 738.9), ohms(6595.7, 25.7), ohms(61900.0)
    ('241.0 ± 0.7 kΩ', '6.596 ± 0.026 kΩ', '61.9 kΩ')
    """
    if standard is None:
        return f"{value / 1e3:.4g} kΩ"
    places = 1 if value >= 1e5 else 2 if value >= 2e4 else 3
    return f"{value / 1e3:.{places}f} ± {standard / 1e3:.{places}f} kΩ"


@sentence("jack pot", "measured", 1)
def pot(*, selection: str, found: Ohms) -> str:
    return (
        f"Volume pot, read at the jack with the {selection} on: "
        f"{ohms(found.ohm, found.standard)}, {ohms(found.least)} to {ohms(found.most)} by the "
        "meter's accuracy alone."
    )


@sentence("jack pickup", "measured", 1)
def pickup(
    *,
    selection: str,
    found: Ohms,
    temperature_c: float | None,
    at_twenty: tuple[float, float] | None,
) -> str:
    """A pickup at the temperature of the reading, and at 20 °C (ohm, standard uncertainty)."""
    temperature = (
        "at a temperature that was not recorded, so nothing to compare"
        if temperature_c is None
        else f"at {temperature_c:g} °C"
    )
    twenty = "" if at_twenty is None else f", {ohms(*at_twenty)} at 20 °C"
    return f"The {selection}: {ohms(found.ohm, found.standard)} {temperature}{twenty}."


@sentence("jack wiring told", "inferred", 2)
def wiring_told(*, wiring: str, told_by: str, other: WiringAccount) -> str:
    """Which wiring the readings fit, and what they would mean under the other."""
    return (
        f"The readings fit the {wiring} (told by the {told_by}). Of the two roots the larger is "
        "the pot: with the smaller as pot no place of the knob reads above the volume full. "
        f"With the {other.wiring} the same readings would give a pot of {ohms(other.pot)} and a "
        f"pickup of {ohms(other.pickup)}."
    )


@sentence("jack wiring open", "inferred", 2)
def wiring_open(*, accounts: Sequence[WiringAccount]) -> str:
    return (
        f"The readings cannot tell how the volume is wired: {_accounts(accounts)}. One more "
        "reading at the jack, the volume at nothing, decides: none, or the greatest."
    )


@sentence("jack wiring none", "inferred", 2)
def wiring_none(*, accounts: Sequence[WiringAccount]) -> str:
    return (
        f"The readings fit neither wiring: {_accounts(accounts)}. Another circuit, a leak or a "
        "worn track is open."
    )


def _accounts(accounts: Sequence[WiringAccount]) -> str:
    return "; ".join(
        f"with the {one.wiring} a pot of {ohms(one.pot)} and a pickup of {ohms(one.pickup)}"
        for one in accounts
    )


@sentence("jack conditions", "inferred", 2)
def conditions(*, told: Sequence[str]) -> str:
    """Under which conditions the two readings mean what is said."""
    return f"This holds if {'; '.join(told)}."


@sentence("jack pots differ", "inferred", 10)
def pots_differ(*, first: Ohms, first_selection: str, second: Ohms, second_selection: str) -> str:
    return (
        f"The pot comes out at {ohms(first.ohm, first.standard)} with the {first_selection} on and "
        f"at {ohms(second.ohm, second.standard)} with the {second_selection} on: two pots, a leak, "
        "or a contact that jumps."
    )


@sentence("value in range seen", "inferred", 2)
def range_seen(
    *, selection: str, place: str, low: float, high: float, count: int | None, chance: float | None
) -> str:
    """Where a value lies among those seen, ohm; never why."""
    on = "" if count is None else f" on {count}"
    told = (
        ""
        if chance is None
        else f" One more of the same kind falls outside with a chance of {chance:.2f}."
    )
    return (
        f"The {selection} is {place} the range seen{on}, {low / 1e3:g} to {high / 1e3:g} kΩ at "
        f"20 °C.{told}"
    )


@sentence("turns", "inferred", 2)
def turns(
    *, selection: str, wire: str, turn_mm: tuple[float, float], low: float, high: float
) -> str:
    """The range of turns that the resistance allows, to the next fifty."""
    low, high = 50 * (low // 50), 50 * -(-high // 50)
    return (
        f"With {wire} and a mean turn of {turn_mm[0]:g} to {turn_mm[1]:g} mm the {selection} has "
        f"between {low:.0f} and {high:.0f} turns; neither wire nor turn was measured."
    )


@sentence("capacitor against mark", "measured", 1)
def capacitor(
    *,
    read_farad: float,
    mark_farad: float,
    share: float,
    standing: Literal["inside", "outside", "at the edge"],
    tolerance: float,
    ageing: str,
) -> str:
    """A capacitor's reading against its mark; *ageing* is a clause on its kind, or empty."""
    where = {"inside": "within", "outside": "outside", "at the edge": "at the edge of"}[standing]
    told = f" {ageing[:1].upper()}{ageing[1:]}." if ageing else ""
    return (
        f"Tone capacitor: {1e6 * read_farad:.4g} µF against a mark of {1e6 * mark_farad:.4g} µF, "
        + f"{100 * share:+.1f} %".replace("-", "−")
        + f"; {where} ±{100 * tolerance:.0f} %.{told}"
    )


@sentence("resonance", "inferred", 2)
def resonance(
    *,
    selection: str,
    frequency_hz: tuple[float, float],
    peak_db: tuple[float, float],
    assumed: Sequence[str],
) -> str:
    """The loaded resonance, values with their standard uncertainties, and what is assumed."""
    told = f"; assumed, not measured: {', '.join(assumed)}" if assumed else ""
    return (
        f"Loaded resonance of the {selection}: {frequency_hz[0] / 1e3:.2f} ± "
        f"{frequency_hz[1] / 1e3:.2f} kHz, {peak_db[0]:.1f} ± {peak_db[1]:.1f} dB above the "
        f"plateau{told}."
    )


@sentence("no resonance", "inferred", 2)
def no_resonance(*, selection: str) -> str:
    return f"The {selection} loaded like this has no resonance: the response only falls."


@sentence("electrics caution", "opinion", 14)
def caution(*, text: str) -> str:
    return text
