"""From a request to a finding.

Each set of readings is solved, its pickup reduced to 20 °C and looked at beside the range seen; its
turns and its loaded resonance are told when what they need is known.
"""

from __future__ import annotations

from dataclasses import replace

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.jack.finding import JackFinding, PickupFinding
from heelstamp.casework.jack.request import JackRequest, Sets
from heelstamp.electrics import Range, against_mark, place_in, resonance, solve, to_twenty, turns
from heelstamp.electrics.jack import NOMINAL_OHM, Hypothesis
from heelstamp.electrics.resonance import Circuit
from heelstamp.errors import InputError


def examine_jack(request: JackRequest) -> JackFinding:
    """Work out everything that is asked.

    Raises
    ------
    InputError
        No readings at all, impossible ones, or a temperature that is none of a room.
    """
    if not request.sets and request.capacitor is None:
        raise InputError(
            "no readings at the jack",
            where="jack",
            remedy="Give --full and --sweep, or enter measurements named 'resistance at the jack, "
            "neck pickup, volume full' and '… volume swept, greatest'.",
        )
    pickups = tuple(_pickup(one, request) for one in request.sets)
    capacitor = None
    if request.capacitor is not None and request.capacitor.mark_farad is not None:
        more = (
            {}
            if request.capacitor_tolerance is None
            else {"tolerance": request.capacitor_tolerance}
        )
        capacitor = against_mark(
            request.capacitor.farad,
            request.capacitor.mark_farad,
            standard=request.capacitor.standard,
            **more,
        )
    digest = digest_of({**request.data(), "program": __version__})
    return JackFinding(request, pickups, capacitor, digest)


def _pickup(one: Sets, request: JackRequest) -> PickupFinding:
    nominal = NOMINAL_OHM if request.nominal_ohm is None else (request.nominal_ohm,)
    try:
        result = solve(one.full, one.sweep, zero_ohm=one.zero_ohm, nominal_ohm=nominal)
    except InputError as error:
        raise error.at(one.selection) from None
    finding = PickupFinding(one, result)
    chosen = result.chosen
    if chosen is None:
        return finding
    circuit = None if request.circuit is None else _circuit(request.circuit, chosen)
    peak = None if circuit is None else resonance(circuit, _relative(request, chosen))
    if one.temperature_c is None:
        return replace(finding, circuit=circuit, resonance=peak)
    twenty = to_twenty(chosen.pickup.ohm, one.temperature_c, standard=chosen.pickup.standard)
    seen = request.seen.get(one.part) or request.seen.get("")
    place = None if seen is None else place_in(twenty.ohm, twenty.standard, seen.seen)
    count = None
    if request.wire is not None and request.turn_mm is not None:
        spread = 2.0 * twenty.standard
        ends = Range(twenty.ohm - spread, twenty.ohm + spread)
        count = turns(ends, request.wire[1], request.turn_mm)
    return replace(
        finding, twenty=twenty, seen=seen, place=place, turns=count, circuit=circuit, resonance=peak
    )


def _circuit(asked: Circuit, chosen: Hypothesis) -> Circuit:
    """Put what was read into the circuit: pot, pickup at the room's temperature, wiring."""
    return Circuit(
        replace(asked.pickup, resistance_ohm=chosen.pickup.ohm),
        replace(asked.controls, volume_ohm=chosen.pot.ohm, wiring=chosen.wiring),
        asked.load,
    )


def _relative(request: JackRequest, chosen: Hypothesis) -> dict[str, float]:
    return {
        **request.relative,
        "pickup.resistance_ohm": chosen.pickup.standard / chosen.pickup.ohm,
        "controls.volume_ohm": chosen.pot.standard / chosen.pot.ohm,
    }
