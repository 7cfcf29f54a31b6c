"""What is asked of the readings at a jack: the readings in sets, and what is known beside them.

In a dossier the readings are measurements of the *resistance at the jack*, which say which pickup
is on and how the volume stands. Two readings of one pickup and stage make a set. A capacitor's mark
is the value at the head of the variant that was read on it (``0.047 µF moulded film``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from heelstamp.catalogue import DossierState, Measurement, quantity_words
from heelstamp.electrics import Range, Reading, SeenRange
from heelstamp.electrics.resonance import Circuit
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import Quantity

ALONE = "pickup"
"""What the pickup is called when only one set is given."""
_QUANTITY = re.compile(r"(\d+(?:\.\d+)?)\s*(%|[a-zA-Zµμ\u03a9\u2126°]+)")
_RANGE = re.compile(r"\s*(.+?)\s*[-–]\s*(.+?)\s*")
_MARK = re.compile(r"(\d+(?:\.\d+)?)\s*([pnµμu]F)\b")


@dataclass(frozen=True, slots=True)
class Sets:
    """The readings of one pickup: volume full, greatest in the sweep, and what is known beside."""

    selection: str
    full: Reading
    sweep: Reading
    zero_ohm: float | None = None
    temperature_c: float | None = None
    rests_on: tuple[str, ...] = ("readings",)
    stage: str = "found"

    @property
    def part(self) -> str:
        """Key of the part: ``pickup_neck`` of *neck pickup*."""
        words = self.selection.split()
        return "_".join(["pickup", *words[:-1]]) if words[-1:] == ["pickup"] else self.selection


@dataclass(frozen=True, slots=True)
class Measured:
    """A capacitance with its standard uncertainty, farads, and the mark beside it."""

    farad: float
    standard: float
    mark_farad: float | None
    kind: str = ""
    rests_on: tuple[str, ...] = ("readings",)


@dataclass(frozen=True, slots=True)
class SeenRow:
    """A range seen of a part's value at 20 °C, ohms, and whose range it is."""

    seen: SeenRange
    source: str


@dataclass(frozen=True, slots=True)
class JackRequest:
    """All that is asked at once.

    Attributes
    ----------
    seen
        Range seen by key of the part; the empty key serves every pickup.
    wire
        What it is called, and its ohms per metre at 20 °C.
    turn_mm
        Mean length of a turn.
    circuit
        All of the circuit but the pickup's resistance and the volume pot, which the readings give;
        None when no response is asked.
    relative
        Relative standard uncertainties of the circuit's values.
    assumed
        What of the circuit was assumed, in words.
    """

    sets: tuple[Sets, ...]
    capacitor: Measured | None = None
    capacitor_tolerance: float | None = None
    nominal_ohm: float | None = None
    seen: Mapping[str, SeenRow] = field(default_factory=dict)
    wire: tuple[str, Range] | None = None
    turn_mm: Range | None = None
    circuit: Circuit | None = None
    relative: Mapping[str, float] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()

    def data(self) -> dict[str, Any]:
        """All of it as plain values, for a digest."""
        return {"request": repr(self)}


def read_quantity(text: str, unit: str, *, where: str) -> float:
    """Read a value with its unit, in *unit*.

    Raises
    ------
    InputError
        Another form, or a unit of another kind.

    Examples
    --------
    >>> read_quantity("470pF", "µF", where="--winding-capacitance")
    0.00047
    """
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        raise InputError(
            "not a value with its unit",
            where=where,
            received=text,
            remedy=f"Write it with its unit, such as one of {unit}.",
        )
    try:
        return Quantity(float(match[1]), match[2]).to(unit).value
    except HeelstampError as error:
        raise InputError(error.what, where=where, received=text, remedy=error.remedy) from None


def read_range(text: str, *, where: str) -> tuple[str, str]:
    """Split ``6.3k-7.1k``; one value is both ends."""
    match = _RANGE.fullmatch(text)
    if match is None:
        if not text.strip():
            raise InputError("an empty range", where=where, remedy="Give it as 6.3k-7.1k.")
        return text.strip(), text.strip()
    return match[1], match[2]


def sets_of(state: DossierState) -> tuple[Sets, ...]:
    """Gather the readings of a dossier, of the same pickup and stage.

    Raises
    ------
    InputError
        A reading is there twice.
    """
    found: dict[tuple[str, str], dict[str, Measurement]] = {}
    for one in state.measurements.values():
        if one.jack is None or one.stage == "plan":
            continue
        group = found.setdefault((one.jack.selector or ALONE, one.stage), {})
        if one.jack.volume in group:
            raise InputError(
                "two readings of the same thing",
                where=f"measurement {one.id}",
                received=quantity_words(one),
                remedy=f"Withdraw or correct this one or {group[one.jack.volume].id}.",
            )
        group[one.jack.volume] = one
    return tuple(
        _set(selection, stage, group)
        for (selection, stage), group in found.items()
        if {"full", "swept"} <= group.keys()
    )


def _set(selection: str, stage: str, group: Mapping[str, Measurement]) -> Sets:
    full, sweep, zero = (group.get(place) for place in ("full", "swept", "nothing"))
    assert full is not None
    assert sweep is not None
    if full.temperature != sweep.temperature:
        raise InputError(
            "the two readings were taken at different temperatures",
            where=f"measurements {full.id} and {sweep.id}",
            received=f"{full.temperature} and {sweep.temperature} °C",
            remedy="Take both within a minute of each other.",
        )
    return Sets(
        selection,
        _reading(full),
        _reading(sweep),
        None if zero is None else zero.measured.to("Ω").value,
        full.temperature,
        tuple(one.id for one in (full, sweep, zero) if one is not None),
        stage,
    )


def _reading(one: Measurement) -> Reading:
    ohm = one.measured.to("Ω")
    try:
        return Reading.known(ohm.value, ohm.uncertainty)
    except InputError as error:
        raise error.at(f"measurement {one.id}") from None


def capacitor_of(state: DossierState) -> Measured | None:
    """The last capacitance measured on the tone capacitor, with the mark read on it."""
    read = [
        one
        for one in state.measurements.values()
        if one.part == "capacitor" and one.measured.kind == "capacitance" and one.stage != "plan"
    ]
    if not read:
        return None
    farad = read[-1].measured.to("µF")
    mark: float | None = None
    kind, ids = "", [read[-1].id]
    for seen in state.observations.values():
        match = _MARK.match(seen.variant or "") if seen.part == "capacitor" else None
        if match is not None and seen.is_read:
            mark = Quantity(float(match[1]), match[2]).to("µF").value * 1e-6
            kind = (seen.variant or "")[match.end() :].strip()
            ids.append(seen.id)
    return Measured(farad.value * 1e-6, farad.uncertainty * 1e-6, mark, kind, tuple(ids))
