"""Plucked notes of worlds in which a pitch is hard to measure, each drawn from wide ranges.

``slower`` and ``faster`` add up partials of two polarisations; the weaker one decays more slowly,
as the second stage of a string's sound does [weinreich_1977], or faster. ``apart`` gives every
partial a split and a share of its own, as a body does. ``bridge`` knows no partials: two sets of
modes of a string whose end moves with the resonances of a bridge (displacement u(t) x/L plus
fixed modes, Lagrange's equations with the mass coupling ρL(−1)^(n+1)/(nπ)), whose common motion
comes out of one eigenvalue problem. Noise is white or pink, hum has harmonics, glides are
exponential or follow the energy of the sound. Truth is f0 √(1 + B) of the law that the polarisation
stronger at the pluck follows on an unyielding bridge, settled, and the same 1 s after the pluck.
Ranges are judgement, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

NOTES_HZ = (41.2, 55.0, 82.4069, 110.0, 146.8324, 195.9977, 246.9417, 329.6276, 493.88)
SECONDS, SILENCE_S = 2.8, 0.2
TOP_HZ = 8000.0


@dataclass(frozen=True)
class WorldNote:
    """A note and the truth about it; ``f1`` settled, ``f1_at_1s`` a second after the pluck."""

    samples: np.ndarray
    rate: int
    f1: float
    f1_at_1s: float
    b: float


@dataclass(frozen=True)
class Tones:
    """Complex exponents (1/s) and amplitudes, and the law's f0 and B behind them."""

    exponents: np.ndarray
    amplitudes: np.ndarray
    f0: float
    b: float


def pink(rng: np.random.Generator, count: int, rate: int) -> np.ndarray:
    """Noise whose power falls as 1/f above 10 Hz, of standard deviation 1."""
    hz = np.fft.rfftfreq(count, 1 / rate)
    bins = rng.normal(size=len(hz)) + 1j * rng.normal(size=len(hz))
    sound = np.fft.irfft(bins / np.sqrt(np.maximum(hz, 10.0)) * (hz > 0), count)
    return sound / sound.std()


def _string(rng: np.random.Generator) -> tuple[float, float]:
    octave = rng.integers(0, 2)
    b = float(np.exp(rng.uniform(np.log(1.2e-5), np.log(8e-5)))) * 4.0**octave
    return float(rng.choice(NOTES_HZ)) * 2 ** (octave + rng.uniform(-0.4, 0.4) / 12), b


def _levels(rng: np.random.Generator, hz: np.ndarray) -> np.ndarray:
    n = np.arange(1, len(hz) + 1)
    pick, pickup = rng.uniform(0.07, 0.35), rng.uniform(0.05, 0.28)
    comb = np.sin(np.pi * n * pick) * np.sin(np.pi * n * pickup) / n
    return comb / np.sqrt(1 + (hz / rng.uniform(2500, 5000)) ** 4)


def _decays(rng: np.random.Generator, hz: np.ndarray, slowest_s: float, rough: float) -> np.ndarray:
    steep = rng.uniform(0.7, 1.6)
    return (1 + (hz / 1500) ** steep) / slowest_s * np.exp(rng.normal(0, rough, len(hz)))


def polarisations(
    rng: np.random.Generator,
    *,
    quicker: tuple[float, float],
    share: tuple[float, float] = (0.1, 0.6),
    slowest_s: tuple[float, float] = (1.2, 4.0),
    apart: bool = False,
    scatter_cents: float = 0.01,
) -> Tones:
    """Two polarisations; *quicker* is the weaker one's decay over the stronger's."""
    f0, b = _string(rng)
    n = np.arange(1, int(TOP_HZ / f0) + 1)
    hz = n * f0 * np.sqrt(1 + b * n**2.0)
    size = len(n) if apart else 1
    split = np.exp(rng.uniform(np.log(0.03), np.log(4.0), size)) * rng.choice([-1, 1], size)
    weaker = rng.uniform(*share, size) * np.ones(len(n))
    decay = _decays(rng, hz, rng.uniform(*slowest_s), 0.25)
    ratio = np.exp(rng.uniform(*np.log(quicker), size)) * np.exp(rng.normal(0, 0.1, len(n)))
    both = [hz * 2 ** (rng.normal(0, scatter_cents, len(n)) / 1200), hz * 2 ** (split / 1200)]
    level = _levels(rng, hz)
    turn = np.exp(1j * rng.uniform(0, 2 * np.pi)) if not apart else 1.0
    phases = np.exp(1j * rng.normal(0, 0.6, (2, len(n))))
    return Tones(
        np.concatenate([-decay + 2j * np.pi * both[0], -decay * ratio + 2j * np.pi * both[1]]),
        np.concatenate([level * phases[0], level * weaker * turn * phases[1]]),
        f0,
        b,
    )


def on_bridge(rng: np.random.Generator, *, strength: float) -> Tones:
    """A string whose end moves with a bridge of a few resonances in two directions."""
    f0, b = _string(rng)
    count = int(TOP_HZ / f0)
    n = np.arange(1, count + 1)
    law = n * f0 * np.sqrt(1 + b * n**2.0)
    split = rng.uniform(-1.5, 1.5)
    resonances = rng.integers(4, 9)
    at_hz = np.exp(rng.uniform(np.log(70), np.log(3000), resonances))
    angle, quality = rng.uniform(0, np.pi, resonances), rng.uniform(12, 60, resonances)
    # masses over the string's: so large that conductance at the peak over the string's admittance
    # is some thousandths; a string of mass 1 and length 1 has the impedance 2 f0
    peak = strength * np.exp(rng.normal(np.log(4e-3), 0.6, resonances))
    mass = quality * 2 * f0 / (peak * 2 * np.pi * at_hz)
    size = 2 * count + resonances
    masses, springs = np.zeros((size, size)), np.zeros((size, size))
    losses = np.zeros((size, size))
    pull = np.where(n % 2, 1.0, -1.0) / (n * np.pi)
    decay = _decays(rng, law, rng.uniform(2.0, 6.0), 0.1)
    place = 2 * count + np.arange(resonances)
    masses[place, place], springs[place, place] = mass, mass * (2 * np.pi * at_hz) ** 2
    losses[place, place] = mass * 2 * np.pi * at_hz / quality
    for axis, (tune, direction) in enumerate(((0.0, np.cos(angle)), (split, np.sin(angle)))):
        own = axis * count + n - 1
        masses[own, own] = 0.5
        springs[own, own] = 0.5 * (2 * np.pi * law * 2 ** (tune / 1200)) ** 2
        losses[own, own] = 0.5 * 2 * decay
        masses[np.ix_(own, place)] = np.outer(pull, direction)
        masses[np.ix_(place, own)] = np.outer(direction, pull)
        masses[np.ix_(place, place)] += np.outer(direction, direction) / 3
    half = np.linalg.inv(masses)
    system = np.block([[np.zeros((size, size)), np.eye(size)], [-half @ springs, -half @ losses]])
    values, vectors = np.linalg.eig(system)
    tilt = rng.uniform(0.1, 0.5)
    level = _levels(rng, law)
    pluck, hear = np.zeros(2 * size), np.zeros(2 * size)
    pluck[:count] = np.sign(level) * np.sqrt(np.abs(level))
    pluck[count : 2 * count] = tilt * pluck[:count]
    hear[:count] = np.sqrt(np.abs(level))
    hear[count : 2 * count] = rng.uniform(-0.8, 0.8) * hear[:count]
    amplitudes = (hear @ vectors) * np.linalg.solve(vectors, pluck.astype(complex))
    # the bridge's own motion, which no string's partial is, dies within the pick's noise
    kept = (values.imag > 0) & (np.abs(amplitudes) > 1e-6 * np.abs(amplitudes).max())
    return Tones(values[kept], 2 * amplitudes[kept], f0, b)


def sounded(
    rng: np.random.Generator,
    tones: Tones,
    *,
    snr_db: float,
    noise: str = "white",
    hum_db: float | None = None,
    glide: str = "none",
    bits: int = 0,
) -> WorldNote:
    """Sound of the tones with a glide, the pick, hum and noise; truth beside it."""
    rate = int(rng.choice([44100, 48000]))
    t = np.arange(int(SECONDS * rate)) / rate
    above = _above(rng, tones, t, glide)
    ahead = np.concatenate([[0.0], np.cumsum(above)[:-1]]) / rate
    sound = np.zeros(len(t))
    for exponent, amplitude in zip(tones.exponents, tones.amplitudes, strict=True):
        last = min(len(t), int(14 / max(-exponent.real, 1e-3) * rate) + 1)
        if glide == "none":
            sound[:last] += _decaying(exponent, amplitude, last, rate)
            continue
        phase = exponent.imag * (t[:last] + ahead[:last]) + np.angle(amplitude)
        sound[:last] += np.abs(amplitude) * np.exp(exponent.real * t[:last]) * np.cos(phase)
    strength = np.sqrt(np.mean(sound[: 2 * rate] ** 2))
    burst = int(0.01 * rate)
    sound[:burst] += rng.normal(0, strength, burst) * np.exp(-np.arange(burst) / (0.0025 * rate))
    whole = np.concatenate([np.zeros(int(SILENCE_S * rate)), sound])
    if hum_db is not None:
        mains = rng.choice([50.0, 60.0]) + rng.normal(0, 0.02)
        for k in range(1, 14):
            turned = 2 * np.pi * k * mains * np.arange(len(whole)) / rate + rng.uniform(0, 7)
            whole += strength * 10 ** (hum_db / 20) * 1.4 / k**0.7 * np.cos(turned)
    hiss = pink(rng, len(whole), rate) if noise == "pink" else rng.normal(size=len(whole))
    whole += strength * 10 ** (-snr_db / 20) * hiss
    whole *= rng.uniform(0.1, 0.8) / np.abs(whole).max()
    if bits:
        whole = np.round(whole * 2 ** (bits - 1)) / 2 ** (bits - 1)
    f1 = tones.f0 * np.sqrt(1 + tones.b)
    later = 1.0 + float(np.interp(1.0, t, above))
    return WorldNote(whole.astype(np.float32), rate, f1, f1 * later, tones.b)


def _decaying(exponent: complex, amplitude: complex, count: int, rate: int) -> np.ndarray:
    """Re a e^{st}: two short runs of powers and their products."""
    inner = 512
    coarse = amplitude * np.exp(exponent * inner / rate * np.arange(-(-count // inner)))
    fine = np.exp(exponent / rate * np.arange(inner))
    return np.outer(coarse, fine).real.ravel()[:count]


def _above(rng: np.random.Generator, tones: Tones, t: np.ndarray, glide: str) -> np.ndarray:
    """The share of its frequency by which every partial stands above its settled one."""
    if glide == "none":
        return np.zeros(len(t))
    cents = rng.uniform(1.0, 8.0)
    if glide == "exponential":
        course = np.exp(-t / rng.uniform(0.15, 0.6))
    elif glide == "energy":
        coarse = t[:: len(t) // 400]
        slopes = np.abs(tones.exponents * tones.amplitudes)
        power = (slopes**2) @ np.exp(2 * tones.exponents.real[:, None] * coarse)
        course = np.interp(t, coarse, power / power[0])
    else:
        raise ValueError(glide)
    return (2 ** (cents / 1200) - 1) * course


SLOWER, FASTER = (0.25, 0.8), (1.2, 3.0)


def _two(
    quicker: tuple[float, float], sounding: Mapping[str, object], **drawn: object
) -> Callable[[np.random.Generator], WorldNote]:
    return lambda rng: sounded(rng, polarisations(rng, quicker=quicker, **drawn), **sounding)  # type: ignore[arg-type]


def _bridge(strength: float, **sounding: object) -> Callable[[np.random.Generator], WorldNote]:
    return lambda rng: sounded(rng, on_bridge(rng, strength=strength), **sounding)  # type: ignore[arg-type]


WORLDS: Mapping[str, Callable[[np.random.Generator], WorldNote]] = {
    "slower, 40 dB": _two(SLOWER, {"snr_db": 40.0}),
    "slower, 60 dB": _two(SLOWER, {"snr_db": 60.0}),
    "faster, 40 dB": _two(FASTER, {"snr_db": 40.0}),
    "each partial its own, pink 20 dB": _two(
        (0.4, 2.5), {"snr_db": 20.0, "noise": "pink"}, share=(0.1, 0.9), apart=True
    ),
    "slower, pink 15 dB": _two(SLOWER, {"snr_db": 15.0, "noise": "pink"}),
    "faster, pink 10 dB": _two(FASTER, {"snr_db": 10.0, "noise": "pink"}),
    "slower, short, 40 dB": _two(SLOWER, {"snr_db": 40.0}, slowest_s=(0.4, 0.8)),
    "slower, glide": _two(SLOWER, {"snr_db": 50.0, "glide": "exponential"}),
    "faster, glide": _two(FASTER, {"snr_db": 50.0, "glide": "exponential"}),
    "bridge, 40 dB": _bridge(1.0, snr_db=40.0),
    "bridge, weak, 60 dB": _bridge(0.3, snr_db=60.0),
    "bridge, strong": _bridge(3.0, snr_db=45.0),
    "bridge, hum, 16 bit": _bridge(1.0, snr_db=45.0, hum_db=-40.0, bits=16),
    "bridge, pink 12 dB": _bridge(1.0, snr_db=12.0, noise="pink"),
    "bridge, glide of energy": _bridge(1.0, snr_db=50.0, glide="energy"),
}
"""Each draws one note."""
