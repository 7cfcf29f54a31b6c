"""Readings at a jack, typed or of a subject, with the bundled tables; and their picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError, InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from heelstamp.casework.jack import JackFinding, JackRequest, Measured, SeenRow, Sets
    from heelstamp.electrics import Circuit, Range
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.subjects import Subject

ASSUMED_INDUCTANCE = "3.0H"
ASSUMED_CAPACITANCE = "120pF"
_ASSUMED_SHARE = 0.4  # of values nobody measured: a range that holds most pickups; judgement
_MEASURED_SHARE = 0.03  # of an inductance or capacitance read on a bridge; judgement
_CABLE_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Options:
    """What a person typed, as text; None where nothing was."""

    full: str | None = None
    sweep: str | None = None
    zero: str | None = None
    temperature: float | None = None
    pot: str | None = None
    capacitor: str | None = None
    mark: str | None = None
    tolerance: float | None = None
    seen: str | None = None
    gauge: str | None = None
    turn: str | None = None
    inductance: str | None = None
    winding_capacitance: str | None = None
    tone_pot: str = "250k"
    cable: str = "500pF"
    input: str = "1M"
    volume: float = 1.0
    tone: float = 1.0
    accuracy: str = "0.5+1"


@dataclass(frozen=True, slots=True)
class JackAnswer:
    """What the readings came to, with the picture of the response, or why nothing."""

    finding: JackFinding | None
    picture: str
    refused: str = ""


def examine_jack(subject: Subject | None, options: Options, *, draw: bool) -> JackFinding:
    """Examine typed readings, or with a *subject* those of its record.

    Parameters
    ----------
    draw
        A response is wanted, with assumed values where nothing was measured.

    Raises
    ------
    InputError
        Neither or both, or values that cannot be used.
    """
    from heelstamp.casework import jack
    from heelstamp.casework.jack.request import capacitor_of, sets_of
    from heelstamp.reference.measured_ranges import ranges_seen

    if subject is None:
        return jack.examine_jack(_joined(options, _typed(options), None, {}, draw=draw))
    if options.full is not None or options.sweep is not None:
        raise InputError(
            "readings are typed or taken from a dossier, not both",
            where="jack",
            received=subject.name,
            remedy="Leave one of them out.",
        )
    state = subject.state
    seen = ranges_seen(state.instrument.chronology)
    request = _joined(options, sets_of(state), capacitor_of(state), seen, draw=draw)
    return jack.examine_jack(request)


def jack_at(shop: OpenShop, tag: str) -> JackAnswer:
    """Work out the readings at the jack of a dossier; remembered."""
    return shop.remembered("jack", tag, lambda: _answer(shop.subject(tag)))


def _answer(subject: Subject) -> JackAnswer:
    try:
        finding = examine_jack(subject, Options(), draw=True)
    except HeelstampError as error:
        return JackAnswer(None, "", str(error))
    return JackAnswer(finding, response_picture(finding))


def response_picture(finding: JackFinding) -> str:
    """Draw the responses; an empty text when there is none to draw."""
    from heelstamp.report.response_drawing import Curve, response_svg

    curves = [
        Curve(one.name, one.circuit, one.resonance)
        for one in finding.pickups
        if one.circuit is not None
    ]
    return response_svg(curves, finding.request.assumed) if curves else ""


def _joined(
    options: Options,
    sets: tuple[Sets, ...],
    capacitor: Measured | None,
    seen: Mapping[str, SeenRow],
    *,
    draw: bool,
) -> JackRequest:
    """Join the readings with what was typed beside them; what is typed goes first."""
    from heelstamp.casework.jack import JackRequest, Measured
    from heelstamp.casework.jack.request import read_quantity
    from heelstamp.electrics import read_meter

    if options.capacitor is not None:
        farad = read_quantity(options.capacitor, "pF", where="--capacitor") * 1e-12
        mark = None
        if options.mark is not None:
            mark = read_quantity(options.mark, "pF", where="--capacitor-mark") * 1e-12
        capacitor = Measured(farad, 0.01 * farad, mark)
    if options.seen is not None:
        seen = {"": _seen(options.seen)}
    wire, turn = _winding(options)
    circuit: Circuit | None = None
    relative: dict[str, float] = {}
    assumed: tuple[str, ...] = ()
    if draw or options.inductance is not None:
        circuit, relative, assumed = _circuit(
            options, None if capacitor is None else capacitor.farad
        )
    nominal = None if options.pot is None else read_meter(options.pot, where="--pot").ohm
    return JackRequest(
        sets=sets,
        capacitor=capacitor,
        capacitor_tolerance=options.tolerance,
        nominal_ohm=nominal,
        seen=seen,
        wire=wire,
        turn_mm=turn,
        circuit=circuit,
        relative=relative,
        assumed=assumed,
    )


def _typed(options: Options) -> tuple[Sets, ...]:
    from heelstamp.casework.jack import Sets
    from heelstamp.casework.jack.request import ALONE
    from heelstamp.electrics import Accuracy, read_meter

    if options.full is None and options.sweep is None:
        return ()
    if options.full is None or options.sweep is None:
        raise InputError(
            "two readings are needed",
            where="--sweep" if options.sweep is None else "--full",
            remedy="Give --full (volume full) and --sweep (the greatest while the knob is swept).",
        )
    parts = options.accuracy.replace("%", "").split("+")
    try:
        accuracy = Accuracy(float(parts[0]) / 100.0, float(parts[1]) if len(parts) > 1 else 0.0)
    except ValueError:
        raise InputError(
            "no accuracy of a meter",
            where="--meter",
            received=options.accuracy,
            remedy="Write per cent of the reading and digits as 0.5+1.",
        ) from None
    zero = options.zero
    zero_ohm = None
    if zero is not None:
        zero_ohm = (
            0.0
            if zero.strip().rstrip("kMΩ .0") == ""
            else read_meter(zero, accuracy, where="--zero").ohm
        )
    return (
        Sets(
            ALONE,
            read_meter(options.full, accuracy, where="--full"),
            read_meter(options.sweep, accuracy, where="--sweep"),
            zero_ohm,
            options.temperature,
        ),
    )


def _seen(text: str) -> SeenRow:
    from heelstamp.casework.jack import SeenRow
    from heelstamp.casework.jack.request import read_range
    from heelstamp.electrics import SeenRange, read_meter

    low, high = (read_meter(one, where="--seen").ohm for one in read_range(text, where="--seen"))
    return SeenRow(SeenRange(low, high), "given")


def _winding(options: Options) -> tuple[tuple[str, Range] | None, Range | None]:
    """The wire's ohms per metre and the mean turn; American gauges by number, else in mm."""
    from heelstamp.casework.jack.request import read_quantity, read_range
    from heelstamp.electrics import Range
    from heelstamp.reference.tables import load

    if options.gauge is None and options.turn is None:
        return None, None
    if options.gauge is None or options.turn is None:
        raise InputError(
            "turns need both the wire and the length of a turn",
            where="--gauge" if options.gauge is None else "--turn-length",
            remedy="Give --gauge 42 or 42-43 (or 0.063mm) and --turn-length 145-165mm.",
        )
    american = {row["awg"]: row for row in load("wire_awg")}
    metric = {float(row["d_mm"]): row for row in load("wire_iec")}
    ohms: list[float] = []
    for one in read_range(options.gauge, where="--gauge"):
        number = one.removesuffix("mm").strip()
        if number in american:
            row = american[number]
            ohms += [float(row["ohm_per_m_rule"]), float(row["ohm_per_m_table"])]
        elif number.replace(".", "", 1).isdigit() and float(number) in metric:
            row = metric[float(number)]
            ohms += [float(row["ohm_per_m_nominal"])]
        else:
            raise InputError(
                "no such wire",
                where="--gauge",
                received=options.gauge,
                remedy=f"American gauges {min(american)} to {max(american)}, or one of "
                + ", ".join(f"{d:g}" for d in metric)
                + " mm.",
            )
    ends = read_range(options.turn, where="--turn-length")
    low, high = (
        read_quantity(one if one.endswith(("m", "in")) else f"{one}mm", "mm", where="--turn-length")
        for one in ends
    )
    return (f"wire {options.gauge}", Range(min(ohms), max(ohms))), Range(low, high)


def _circuit(
    options: Options, capacitor_farad: float | None
) -> tuple[Circuit, dict[str, float], tuple[str, ...]]:
    from heelstamp.casework.jack.request import read_quantity
    from heelstamp.electrics import Circuit, Controls, Load, Pickup, read_meter

    assumed = []
    shares = {"load.cable_f": _CABLE_SHARE}
    values = []
    for key, given, usual, unit, name in (
        ("inductance_h", options.inductance, ASSUMED_INDUCTANCE, "H", "inductance"),
        ("capacitance_f", options.winding_capacitance, ASSUMED_CAPACITANCE, "pF", "winding"),
    ):
        value = read_quantity(given or usual, unit, where=f"--{name.replace(' ', '-')}")
        values.append(value if unit == "H" else value * 1e-12)
        shares[f"pickup.{key}"] = _ASSUMED_SHARE if given is None else _MEASURED_SHARE
        if given is None:
            told = "winding capacitance" if name == "winding" else name
            assumed.append(f"{told} {usual} ± {100 * _ASSUMED_SHARE:.0f} %")
    tone = 47e-9 if capacitor_farad is None else capacitor_farad
    assumed.append(f"tone pot {options.tone_pot}")
    if capacitor_farad is None:
        assumed.append("tone capacitor 47 nF")
    assumed.append(f"cable {options.cable}")
    circuit = Circuit(
        Pickup(1.0, values[0], values[1]),  # resistance and pot come from the readings
        Controls(
            1.0,
            read_meter(options.tone_pot, where="--tone-pot").ohm,
            tone,
            options.volume,
            options.tone,
        ),
        Load(
            read_quantity(options.cable, "pF", where="--cable") * 1e-12,
            read_meter(options.input, where="--input").ohm,
        ),
    )
    return circuit, shares, tuple(assumed)
