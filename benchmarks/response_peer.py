"""The response of a pickup against a circuit simulator that is installed beside this program.

Forty circuits with drawn values, both wirings; 61 frequencies each, 20 Hz to 20 kHz. The peer is
Debian's ngspice in batch mode; without it the row says so.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from heelstamp.electrics.circuit import Controls, Load, Pickup, response
from heelstamp.electrics.jack import TRACK_END, WIRINGS
from heelstamp.electrics.resonance import Circuit
from results import Result, seconds

CIRCUITS, SEED = 40, 1965
FREQUENCIES = np.geomspace(20.0, 20e3, 61)


def drawn(rng: np.random.Generator) -> Circuit:
    """Draw a circuit."""
    return Circuit(
        Pickup(
            rng.uniform(3e3, 15e3),
            rng.uniform(1, 8),
            rng.uniform(5e-11, 3e-10),
            rng.uniform(1e5, 2e6),
        ),
        Controls(
            rng.uniform(1e5, 1e6),
            rng.uniform(1e5, 1e6),
            rng.choice([22e-9, 47e-9]),
            rng.uniform(0.1, 0.98),
            rng.uniform(0.02, 1),
            WIRINGS[rng.integers(2)],
        ),
        Load(rng.uniform(1e-10, 1.5e-9), rng.uniform(1e5, 1e7)),
    )


def netlist(one: Circuit, out: Path) -> str:
    """Write a circuit for the simulator."""
    pickup, controls, load = one.pickup, one.controls, one.load
    upper = controls.volume_ohm * (1 - controls.volume)
    lower = controls.volume_ohm * controls.volume
    return "\n".join(
        (
            "* pickup",
            "V1 e 0 AC 1",
            f"R1 e m {pickup.resistance_ohm:.12g}",
            f"L1 m a {pickup.inductance_h:.12g}",
            f"C1 a 0 {pickup.capacitance_f:.12g}",
            f"R2 a 0 {pickup.loss_ohm:.12g}",
            f"R3 a t {controls.tone_ohm * controls.tone:.12g}",
            f"C2 t 0 {controls.tone_capacitor_f:.12g}",
            f"R4 a j {upper:.12g}",
            f"R5 {'j' if controls.wiring == TRACK_END else 'a'} 0 {lower:.12g}",
            f"C3 j 0 {load.cable_f:.12g}",
            f"R6 j 0 {load.input_ohm:.12g}",
            ".control",
            "set wr_singlescale",
            "set numdgt=12",
            f"ac dec 20 {FREQUENCIES[0]:g} {FREQUENCIES[-1]:g}",
            f"wrdata {out} v(j)",
            "quit",
            ".endc",
            ".end",
            "",
        )
    )


def simulated(one: Circuit) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
    """Frequencies and response as the simulator has them."""
    with tempfile.TemporaryDirectory() as folder:
        deck, out = Path(folder) / "deck.cir", Path(folder) / "out.txt"
        deck.write_text(netlist(one, out), encoding="ascii")
        subprocess.run(["ngspice", "-b", str(deck)], check=True, capture_output=True)  # noqa: S603, S607
        table = np.loadtxt(out)
    return table[:, 0], table[:, 1] + 1j * table[:, 2]


def responses() -> Iterator[Result]:
    """Compare responses, and time ours."""
    rng = np.random.default_rng(SEED)
    circuits = [drawn(rng) for _ in range(CIRCUITS)]

    def ours() -> None:
        for one in circuits:
            response(FREQUENCIES, one.pickup, one.controls, one.load)

    took = seconds(ours) / CIRCUITS
    if shutil.which("ngspice") is None:
        yield Result("pickup response against ngspice", None, "", beside="ngspice not installed")
        return
    worst, count = 0.0, 0
    for one in circuits:
        hz, theirs = simulated(one)
        mine = response(hz, one.pickup, one.controls, one.load)
        worst = max(worst, float(np.max(np.abs(20 * np.log10(np.abs(mine) / np.abs(theirs))))))
        count += len(hz)
    yield Result(
        "pickup response, largest difference from ngspice",
        worst,
        "dB",
        ("at most", 1e-4),
        beside=f"{CIRCUITS} circuits, {count} values; ours {1e6 * took:.0f} µs a circuit",
    )
