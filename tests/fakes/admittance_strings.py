"""Plucked notes of a stiff string that ends on a bridge of given admittance, in two directions.

Another mechanism than ``string_worlds``: no modes are coupled, the wave is closed at the bridge. A
transverse wave sin(πκx) of both directions meets the bridge's 2 × 2 admittance Y(ω), a sum of many
damped modes, Y = Σ iω φφᵀ / (m (ω_j² − ω² + iηω_jω)); the end condition v = Y F gives
tan(πκ) = iZY [weinreich_1977; Z is the string's impedance], so that each partial has two wave
numbers κ = n + δ, eigenvalues of diag(nσ) + iZY(ω)/π at its own frequency, and directions of motion
that need not be straight lines. Frequencies are f0 κ √(1 + Bκ²) [fletcher_1964] of the complex κ;
losses in the string are added. Plucked at a point by displacement, all partials in phase; heard as
velocity by a coil with an aperture and a resonance.

A glide comes from tension: it is raised by the square of the slopes, Σ (n a_n(t))² over what the
string does, whatever the pickup hears of it, and by half as much again for a mode's own share
[legge_1984]. Partials therefore do not quite share one course.

Truth is f0 √(1 + B) of the same string on an unyielding bridge, in the direction that is stronger
at the pluck (the first: the second is at most a quarter of it); 1 s after the pluck with the mean
tension of that moment. Written before the engine's fits were changed, and counted at the end only.
Ranges are judgement, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from fakes.string_worlds import SECONDS, WorldNote, pink

OPEN_HZ = (41.2034, 55.0, 82.4069, 110.0, 146.8324, 195.9977, 246.9417, 329.6276)
TOP_HZ = 7500.0
TURNS = 6
"""Rounds in which a partial's frequency and the admittance at it settle."""


class _Bridge:
    """Modes of a bridge: frequency, loss, direction, and size by its peak conductance times Z."""

    def __init__(self, rng: np.random.Generator, strength: float) -> None:
        count = int(rng.integers(10, 22))
        self.at = 2 * np.pi * np.exp(rng.uniform(np.log(55), np.log(5000), count))
        self.loss = rng.uniform(0.012, 0.07, count)
        turn = rng.uniform(0, np.pi, count)
        self.shape = np.stack([np.cos(turn), 0.6 * np.sin(turn)], axis=1)
        peak = strength * np.exp(rng.normal(np.log(1.5e-3), 0.8, count))
        self.size = peak * self.loss * self.at  # Z over the modal mass, 1/s

    def times_z(self, omega: complex) -> np.ndarray:
        """Z Y at a complex frequency, shape (2, 2)."""
        each = 1j * omega * self.size / (self.at**2 - omega**2 + 1j * self.loss * self.at * omega)
        return np.einsum("j,ja,jb->ab", each, self.shape, self.shape)


def _hz(f0: float, b: float, kappa: complex) -> complex:
    return f0 * kappa * np.sqrt(1 + b * kappa * kappa)


def _partial(
    bridge: _Bridge, f0: float, b: float, n: int, split: float
) -> list[tuple[complex, np.ndarray]]:
    """Both complex frequencies in Hz of partial n, each with its direction u, uᵀu = 1."""
    found = []
    for which in (0, 1):
        kappa: complex = complex(n)
        direction = np.zeros(2, complex)
        for _ in range(TURNS):
            here = (
                np.diag([0.0, n * split])
                + 1j * bridge.times_z(2 * np.pi * _hz(f0, b, kappa)) / np.pi
            )
            values, vectors = np.linalg.eig(here)
            # the one that moves most in this direction of the two
            place = int(np.argmax(np.abs(vectors[which])))
            kappa, direction = n + values[place], vectors[:, place]
        found.append((_hz(f0, b, kappa), direction / np.sqrt(direction @ direction)))
    return found


def ending_on_a_bridge(
    rng: np.random.Generator,
    *,
    strength: float,
    snr_db: tuple[float, float],
    pink_share: float = 0.0,
    hum_db: float | None = None,
    glide_cents: tuple[float, float] = (0.0, 0.0),
    bits: int = 24,
) -> WorldNote:
    """Draw a string, its bridge and its pluck, and sound it."""
    octave = int(rng.integers(0, 2))
    b = float(np.exp(rng.uniform(np.log(1.0e-5), np.log(9e-5)))) * 4.0**octave
    f0 = float(rng.choice(OPEN_HZ)) * 2 ** (octave + rng.uniform(-0.4, 0.4) / 12)
    bridge = _Bridge(rng, strength)
    split = float(rng.normal(0, 1.0)) * np.log(2) / 1200
    aim = rng.uniform(-0.45, 0.45)
    pluck, hear = np.array([np.cos(aim), np.sin(aim)]), np.array([1.0, rng.uniform(-0.5, 0.5)])
    at, over, aperture = rng.uniform(0.08, 0.32), rng.uniform(0.06, 0.26), rng.uniform(0.01, 0.04)
    coil_hz, coil_q = rng.uniform(2200, 4500), rng.uniform(0.8, 3.0)
    still_s, air, inner = rng.uniform(2.0, 7.0), rng.uniform(0.2, 0.5), rng.uniform(2e-4, 6e-4)
    rate = int(rng.choice([44100, 48000]))
    t = np.arange(int(SECONDS * rate)) / rate
    parts: list[tuple[int, complex, complex, float, float]] = []
    for n in range(1, int(TOP_HZ / f0) + 1):
        sharp = np.sin(n * np.pi * at) / n**2
        hz_n = n * f0
        loss = 1 / still_s + air * np.sqrt(hz_n / 500) * 0.3 + inner * np.pi * hz_n * 0.5
        coil = 1 / (1 - (hz_n / coil_hz) ** 2 + 1j * hz_n / coil_hz / coil_q)
        window = np.sin(n * np.pi * over) * np.sinc(n * aperture)
        for hz, direction in _partial(bridge, f0, b, n, split):
            moved = direction @ pluck
            heard = n * sharp * window * (hear @ direction) * moved * coil
            decay = loss + 2 * np.pi * hz.imag
            slope = (n * sharp) ** 2 * abs(moved) ** 2 * float(np.sum(np.abs(direction) ** 2))
            parts.append((n, complex(-decay, 2 * np.pi * hz.real), complex(heard), slope, decay))
    slopes = np.array([part[3] for part in parts])
    decays = np.array([part[4] for part in parts])
    cents = rng.uniform(*glide_cents)
    sizes = (2 ** (cents / 1200) - 1) * slopes / slopes.sum()
    grown = np.array([(1 - np.exp(-2 * d * t[:: rate // 400])) / (2 * d) for d in decays])
    common = sizes @ grown
    sound = np.zeros(len(t))
    for n, exponent, amplitude, _, _ in parts:
        if abs(amplitude) < 1e-7:
            continue
        phase = exponent.imag * t
        if cents:
            own = [place for place, part in enumerate(parts) if part[0] == n]
            ahead = common + 0.5 * sizes[own] @ grown[own]
            phase = exponent.imag * (t + np.interp(t, t[:: rate // 400], ahead))
        sound += np.abs(amplitude) * np.exp(exponent.real * t) * np.sin(phase + np.angle(amplitude))
    strength_of = np.sqrt(np.mean(sound[: 2 * rate] ** 2))
    click = int(0.006 * rate)
    sound[:click] += strength_of * rng.normal(0, 0.7, click) * np.hanning(2 * click)[click:]
    ahead_s = rng.uniform(0.1, 0.5)
    whole = np.concatenate([np.zeros(int(ahead_s * rate)), sound])
    noise = rng.normal(size=len(whole)) * (1 - pink_share) + pink_share * pink(
        rng, len(whole), rate
    )
    whole += strength_of * 10 ** (-rng.uniform(*snr_db) / 20) * noise / noise.std()
    if hum_db is not None:
        mains = rng.choice([50.0, 60.0]) * (1 + rng.normal(0, 3e-4))
        for k in range(1, 16):
            level = strength_of * 10 ** (hum_db / 20) * rng.uniform(0.2, 1.4) / k**0.8
            turned = 2 * np.pi * k * mains * np.arange(len(whole)) / rate
            whole += level * np.sin(turned + rng.uniform(0, 2 * np.pi))
    whole *= rng.uniform(0.08, 0.8) / np.abs(whole).max()
    whole = np.round(whole * 2 ** (bits - 1)) / 2 ** (bits - 1)
    f1 = f0 * np.sqrt(1 + b)
    later = 1 + float(sizes @ np.exp(-2 * decays))
    return WorldNote(whole.astype(np.float32), rate, f1, f1 * later, b)


def _drawn(**given: object) -> Callable[[np.random.Generator], WorldNote]:
    return lambda rng: ending_on_a_bridge(rng, **given)  # type: ignore[arg-type]


ADMITTANCE_WORLDS: Mapping[str, Callable[[np.random.Generator], WorldNote]] = {
    "admittance, 45 to 65 dB": _drawn(strength=1.0, snr_db=(45.0, 65.0)),
    "admittance, strong": _drawn(strength=3.5, snr_db=(40.0, 60.0)),
    "admittance, hum, 16 bit": _drawn(strength=1.0, snr_db=(35.0, 55.0), hum_db=-35.0, bits=16),
    "admittance, pink 10 dB": _drawn(strength=1.0, snr_db=(10.0, 10.0), pink_share=1.0),
    "admittance, glide of tension": _drawn(
        strength=1.0, snr_db=(40.0, 60.0), glide_cents=(0.5, 6.0)
    ),
}
"""Each draws one note."""
