"""The response against a nodal solver that knows nothing of pickups, and against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.nodal import Network
from heelstamp.electrics.circuit import Controls, Load, Pickup, response
from heelstamp.electrics.jack import TRACK_END, WIRINGS
from heelstamp.electrics.resonance import Circuit, peak, resonance
from heelstamp.errors import InputError


def network(circuit: Circuit) -> Network:
    """Build the same circuit part by part."""
    pickup, controls, load = circuit.pickup, circuit.controls, circuit.load
    net = Network()
    net.add("V", "E", "0", 1.0)
    net.add("R", "E", "M", pickup.resistance_ohm)
    net.add("L", "M", "A", pickup.inductance_h)
    net.add("C", "A", "0", pickup.capacitance_f)
    if math.isfinite(pickup.loss_ohm):
        net.add("R", "A", "0", pickup.loss_ohm)
    if controls.tone_capacitor_f:
        net.add("R", "A", "T", controls.tone_ohm * controls.tone)
        net.add("C", "T", "0", controls.tone_capacitor_f)
    upper, lower = (
        controls.volume_ohm * (1 - controls.volume),
        controls.volume_ohm * controls.volume,
    )
    net.add("R", "A", "J", upper)
    net.add("R", "J" if controls.wiring == TRACK_END else "A", "0", lower)
    net.add("C", "J", "0", load.cable_f)
    net.add("R", "J", "0", load.input_ohm)
    return net


CIRCUITS = st.builds(
    Circuit,
    st.builds(
        Pickup,
        st.floats(2e3, 20e3),
        st.floats(0.5, 10.0),
        st.floats(20e-12, 400e-12),
        st.one_of(st.just(math.inf), st.floats(50e3, 2e6)),
    ),
    st.builds(
        Controls,
        st.floats(50e3, 1e6),
        st.floats(50e3, 1e6),
        st.sampled_from([0.0, 1e-9, 22e-9, 47e-9, 100e-9]),
        st.floats(0.05, 1.0),
        st.floats(0.0, 1.0),
        st.sampled_from(WIRINGS),
    ),
    st.builds(Load, st.floats(50e-12, 2e-9), st.floats(50e3, 1e7)),
)


@settings(max_examples=60, deadline=None)
@given(CIRCUITS, st.floats(20.0, 20e3))
def test_the_ladder_is_the_network(circuit: Circuit, frequency: float) -> None:
    ours = response(np.array([frequency]), circuit.pickup, circuit.controls, circuit.load)[0]
    # the solver stands a microohm in for a short, beside resistances down to some tenths of an ohm
    assert abs(ours - network(circuit).solve(frequency)["J"]) < 1e-5 * max(abs(ours), 1e-3)


@pytest.mark.parametrize("loss", [80e3, 250e3, 1e6])
def test_the_peak_of_a_damped_circuit_of_second_order(loss: float) -> None:
    """ω² = ω₀²(1 − 2ζ²), height 1/(2ζ√(1 − ζ²)): textbook second-order low pass."""
    ohm, henry, farad = 6500.0, 2.5, 600e-12
    circuit = Circuit(
        Pickup(ohm, henry, farad), Controls(loss), Load(cable_f=0.0, input_ohm=math.inf)
    )
    natural = math.sqrt((1 + ohm / loss) / (henry * farad))
    damping = (henry / loss + ohm * farad) / (2 * natural * henry * farad)
    found = peak(circuit)
    if damping >= math.sqrt(0.5):
        assert found is None
        return
    assert found is not None
    assert found[0] == pytest.approx(
        natural * math.sqrt(1 - 2 * damping**2) / (2 * math.pi), rel=1e-4
    )
    height = 1 / (2 * damping * math.sqrt(1 - damping**2))
    assert found[1] == pytest.approx(20 * math.log10(height), abs=1e-3)


def test_the_peak_of_a_closed_tone_control_lies_lower() -> None:
    pickup, load = Pickup(6481.0, 2.4, 120e-12), Load()
    opened = peak(Circuit(pickup, Controls(241e3, 250e3, 47e-9), load))
    closed = peak(Circuit(pickup, Controls(241e3, 250e3, 47e-9, tone=0.0), load))
    assert opened is not None
    assert closed is not None
    assert closed[0] < 600
    assert opened[0] > 3000


def test_a_response_that_only_falls_has_no_resonance() -> None:
    circuit = Circuit(Pickup(6500.0, 2.5, 120e-12), Controls(20e3), Load())
    assert resonance(circuit, {"pickup.inductance_h": 0.02}) is None


def test_uncertainty_of_the_resonance_is_that_of_drawn_circuits() -> None:
    circuit = Circuit(Pickup(6481.0, 2.4, 120e-12), Controls(241e3, 250e3, 47e-9), Load())
    spread = {"pickup.inductance_h": 0.03, "load.cable_f": 0.10, "controls.volume_ohm": 0.02}
    told = resonance(circuit, spread)
    assert told is not None
    rng = np.random.default_rng(3)
    drawn = []
    for _ in range(600):
        one = circuit
        for name, share in spread.items():
            one = one.changed(name, 1 + rng.normal(0, share))
        found = peak(one)
        assert found is not None
        drawn.append(found)
    assert told.frequency_standard == pytest.approx(np.std([f for f, _ in drawn]), rel=0.12)
    assert told.peak_standard == pytest.approx(np.std([h for _, h in drawn]), rel=0.12)


def test_impossible_circuits_are_refused() -> None:
    for make in (
        lambda: Pickup(0.0, 2.0, 1e-10),
        lambda: Pickup(6e3, -2.0, 1e-10),
        lambda: Pickup(6e3, 2.0, -1e-10),
        lambda: Controls(250e3, volume=0.0),
        lambda: Controls(250e3, tone=1.1),
        lambda: Controls(250e3, wiring="elsewhere"),  # type: ignore[arg-type]
        lambda: Load(-1.0),
        lambda: Load(1e-10, 0.0),
        lambda: response(np.array([0.0]), Pickup(6e3, 2.0, 1e-10), Controls(250e3), Load()),
    ):
        with pytest.raises(InputError):
            make()
    circuit = Circuit(Pickup(6481.0, 2.4, 120e-12), Controls(241e3), Load())
    with pytest.raises(InputError, match="no such value"):
        resonance(circuit, {"pickup.weight": 0.1})
    with pytest.raises(InputError, match="no relative uncertainty"):
        resonance(circuit, {"pickup.inductance_h": 2.0})
