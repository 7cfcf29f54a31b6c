"""Sentences about pickups and pots read at the jack, capacitors, and the noise of controls.

Every sentence names what it rests on. A census gives the range seen and nothing more; a change of a
control's noise is told with its chance.
"""

from __future__ import annotations

from heelstamp.wording.sentences import Grounds, Statement, write


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


def pot(
    id_: str, *, selection: str, value: str, least: str, most: str, grounds: Grounds
) -> Statement:
    """Tell the volume pot."""
    return write("jack pot", id_, grounds, selection=selection, value=value, least=least, most=most)


def pickup(
    id_: str, *, selection: str, value: str, temperature: str, twenty: str, grounds: Grounds
) -> Statement:
    """Tell a pickup at the temperature of the reading, and at 20 °C."""
    return write(
        "jack pickup",
        id_,
        grounds,
        selection=selection,
        value=value,
        temperature=temperature,
        twenty=twenty,
    )


def wiring_told(
    id_: str,
    *,
    wiring: str,
    told_by: str,
    other: str,
    other_pot: str,
    other_pickup: str,
    grounds: Grounds,
) -> Statement:
    """Tell which wiring the readings fit, and what they would mean under the other."""
    return write(
        "jack wiring told",
        id_,
        grounds,
        wiring=wiring,
        told_by=told_by,
        other=other,
        other_pot=other_pot,
        other_pickup=other_pickup,
    )


def wiring_not_told(id_: str, *, accounts: str, none_fits: bool, grounds: Grounds) -> Statement:
    """Tell that the readings cannot tell the wiring, or fit none."""
    name = "jack wiring none" if none_fits else "jack wiring open"
    return write(name, id_, grounds, accounts=accounts)


def conditions(id_: str, *, told: str, grounds: Grounds) -> Statement:
    """Tell under which conditions the two readings mean what is said."""
    return write("jack conditions", id_, grounds, conditions=told)


def pots_differ(
    id_: str,
    *,
    first: str,
    first_selection: str,
    second: str,
    second_selection: str,
    grounds: Grounds,
) -> Statement:
    """Tell that the one volume pot comes out at two values."""
    return write(
        "jack pots differ",
        id_,
        grounds,
        first=first,
        first_selection=first_selection,
        second=second,
        second_selection=second_selection,
    )


def range_seen(
    id_: str,
    *,
    selection: str,
    place: str,
    low: str,
    high: str,
    count: int | None,
    chance: float | None,
    grounds: Grounds,
) -> Statement:
    """Tell where a value lies among those seen; never why."""
    told = (
        ""
        if chance is None
        else (f" One more of the same kind falls outside with a chance of {chance:.2f}.")
    )
    return write(
        "value in range seen",
        id_,
        grounds,
        selection=selection,
        place=place,
        low=low,
        high=high,
        count="" if count is None else f" on {count}",
        chance=told,
    )


def turns(
    id_: str, *, selection: str, wire: str, turn: str, low: float, high: float, grounds: Grounds
) -> Statement:
    """Tell the range of turns that the resistance allows, to the next fifty."""
    low, high = 50 * (low // 50), 50 * -(-high // 50)
    return write(
        "turns",
        id_,
        grounds,
        selection=selection,
        wire=wire,
        turn=turn,
        low=f"{low:.0f}",
        high=f"{high:.0f}",
    )


def capacitor(
    id_: str,
    *,
    read: str,
    mark: str,
    share: float,
    standing: str,
    tolerance: float,
    age: str,
    grounds: Grounds,
) -> Statement:
    """Tell a capacitor's reading against its mark."""
    where = {"inside": "within", "outside": "outside", "at the edge": "at the edge of"}[standing]
    return write(
        "capacitor against mark",
        id_,
        grounds,
        read=read,
        mark=mark,
        share=f"{100 * share:+.1f} %".replace("-", "−"),
        standing=where,
        tolerance=f"{100 * tolerance:.0f} %",
        age=age,
    )


def resonance(
    id_: str, *, selection: str, frequency: str, height: str, assumed: str, grounds: Grounds
) -> Statement:
    """Tell the loaded resonance, and what of it is assumed."""
    return write(
        "resonance",
        id_,
        grounds,
        selection=selection,
        frequency=frequency,
        height=height,
        assumed=assumed,
    )


def no_resonance(id_: str, *, selection: str, grounds: Grounds) -> Statement:
    """Tell that the response only falls."""
    return write("no resonance", id_, grounds, selection=selection)


def caution(id_: str, text: str, grounds: Grounds) -> Statement:
    """Tell what may come to harm."""
    return write("electrics caution", id_, grounds, caution=text)
