"""Takes of a control being turned, with the truth beside them; nothing is taken from the engine.

A take is hiss with a random tilt, hum of the mains with its harmonics, low thumps of the hand, the
rustle of a track under its wiper, weak remains of muted strings, and events: jumps, bursts, ticks.
The level of an event is its peak above 2 kHz over the root mean square of the hiss there. Buzz is a
train of short ringing pulses locked to the mains, whose frequency wanders as real mains do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
EDGE_HZ = 2000.0


@dataclass(frozen=True)
class Room:
    """What both takes of a session share."""

    rate: int
    tilt: float
    hum: float
    mains: float
    wander: float
    buzz_db: float | None
    pulse: Floats
    pulses_a_period: int
    gain: float


@dataclass(frozen=True)
class Take:
    samples: NDArray[np.float32]
    times: Floats
    levels_db: Floats
    turns: list[tuple[float, float]]


def room(seed: int, *, buzz_db: float | None = None) -> Room:
    rng = np.random.default_rng([seed, 1])
    rate = int(rng.choice([44_100, 48_000]))
    time = np.arange(round(0.003 * rate)) / rate
    ring = rng.uniform(2500, 7000)
    decay = rng.uniform(0.0001, 0.0003)
    pulse = np.sin(2 * np.pi * ring * time + rng.uniform(0, 6)) * np.exp(-time / decay)
    return Room(
        rate,
        rng.uniform(-4, 0),
        10 ** (rng.uniform(0, 25) / 20),
        float(rng.choice([50.0, 60.0])),
        rng.uniform(-0.008, 0.008),
        buzz_db,
        pulse,
        int(rng.choice([1, 2])),
        10 ** (rng.uniform(-78, -60) / 20),
    )


def above(samples: Floats, rate: int) -> Floats:
    """Keep what lies above 2 kHz."""
    spectrum = np.fft.rfft(samples)
    spectrum[np.fft.rfftfreq(len(samples), 1 / rate) < EDGE_HZ] = 0
    return np.asarray(np.fft.irfft(spectrum, len(samples)))


def shaped(rng: np.random.Generator, count: int, rate: int, tilt_db: float) -> Floats:
    """Noise that falls by *tilt_db* an octave above 500 Hz."""
    spectrum = np.fft.rfft(rng.normal(size=count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1 / rate), 500.0)
    spectrum *= (frequency / 500.0) ** (tilt_db / 6.02)
    return np.asarray(np.fft.irfft(spectrum, count))


def background(place: Room, seed: int, seconds: float) -> tuple[Floats, float]:
    """Hiss, hum and buzz, and the hiss above 2 kHz (root mean square), before the gain."""
    rng = np.random.default_rng([seed, 2])
    count = round(seconds * place.rate)
    time = np.arange(count) / place.rate
    hiss = shaped(rng, count, place.rate, place.tilt)
    high = float(np.std(above(hiss, place.rate)))
    mains = place.mains + rng.uniform(-0.05, 0.05)
    cycles = mains * time + 0.5 * place.wander * time**2 + rng.uniform()
    total = hiss.copy()
    for k in range(1, 16):
        total += (
            place.hum * np.std(hiss) / k**1.3 * np.sin(2 * np.pi * (k * cycles) + rng.uniform(0, 6))
        )
    if place.buzz_db is not None:
        peak = np.abs(above(np.pad(place.pulse, 4000), place.rate)).max()
        size = high * 10 ** (place.buzz_db / 20) / peak
        grid = cycles * place.pulses_a_period
        starts = np.interp(np.arange(np.ceil(grid[0]), grid[-1]), grid, time)
        for start in starts:
            add(total, place.pulse, start, place.rate, size * rng.normal(1, 0.03))
    return total, high


def add(total: Floats, shape: Floats, start: float, rate: int, size: float) -> None:
    """Add a shape at a time between samples, by a turn of its phases."""
    first = int(start * rate)
    part = start * rate - first
    padded = np.pad(shape, (8, 40))
    turn = np.exp(-2j * np.pi * np.fft.rfftfreq(len(padded)) * part)
    moved = np.fft.irfft(np.fft.rfft(padded) * turn, len(padded))
    low, high = max(first - 8, 0), min(first - 8 + len(padded), len(total))
    if high > low:
        total[low:high] += size * moved[low - first + 8 : high - first + 8]


def event_shape(rng: np.random.Generator, rate: int) -> Floats:
    """A tick, a jump behind a coupling capacitor, or a burst."""
    kind = rng.integers(3)
    if kind == 0:
        return np.array([1.0, -rng.uniform(0, 0.8)])
    time = np.arange(round(0.004 * rate)) / rate
    if kind == 1:
        return np.asarray(np.exp(-time / rng.uniform(0.0005, 0.002)))
    return rng.normal(size=len(time)) * np.exp(-time / rng.uniform(0.0001, 0.0008))


def still_take(place: Room, seed: int, seconds: float = 3.0) -> Take:
    total, _ = background(place, seed * 7 + 1, seconds)
    return Take((place.gain * total).astype(np.float32), np.empty(0), np.empty(0), [])


def sweep_take(
    place: Room,
    seed: int,
    *,
    sweeps: int = 5,
    per_sweep: float = 12.0,
    levels_db: tuple[float, float] = (18.0, 40.0),
    rustle_db: float = 4.0,
    turn_s: float = 0.9,
    pause_s: float = 0.4,
    dead: tuple[float, float, float] | None = None,
) -> Take:
    """Turn a control to and fro.

    Parameters
    ----------
    dead
        From and to (shares of the turn), and by how many dB the hiss is raised there, in every
        sweep; 0 is no contact and nothing heard.
    """
    rng = np.random.default_rng([seed, 3])
    rate = place.rate
    seconds = pause_s + sweeps * (turn_s + pause_s)
    total, high = background(place, seed * 7 + 2, seconds)
    time = np.arange(len(total)) / rate
    turns = [
        (pause_s + k * (turn_s + pause_s), pause_s + k * (turn_s + pause_s) + turn_s)
        for k in range(sweeps)
    ]
    rustle = shaped(rng, len(total), rate, -2.0)
    rustle *= high / np.std(above(rustle, rate))
    times: list[float] = []
    for start, end in turns:
        inside = (time >= start) & (time < end)
        loud = np.where(inside, np.sqrt(10 ** (rustle_db / 10) - 1), 0.0)
        if dead is not None:
            low, top = (start + share * (end - start) for share in dead[:2])
            loud[(time >= low) & (time < top)] = np.sqrt(10 ** (dead[2] / 10) - 1)
            times += [low, top]
        total += loud * rustle
        for edge in (start, end):  # the hand meets the stop
            thump = np.exp(-np.maximum(time - edge, 0) / 0.03) * (time >= edge)
            total += 30 * np.std(rustle) * thump * np.sin(2 * np.pi * 90 * (time - edge))
        for _ in range(rng.poisson(per_sweep)):
            at = float(rng.uniform(start + 0.02, end - 0.02))
            if all(abs(at - other) > 0.014 for other in times):
                times.append(at)
    for start in rng.uniform(0, seconds, 6):  # a muted string that was brushed
        ring = np.exp(-np.maximum(time - start, 0) / 0.05) * (time >= start)
        ring *= np.minimum(np.maximum(time - start, 0) / 0.01, 1)
        total += 3 * np.std(rustle) * ring * np.sin(2 * np.pi * rng.uniform(80, 900) * time)
    noise = high * 10 ** (rustle_db / 20)
    levels = rng.uniform(*levels_db, len(times))
    for at, level in zip(times, levels, strict=True):
        shape = event_shape(rng, rate)
        peak = np.abs(above(np.pad(shape, 4000), rate)).max()
        add(total, shape, at, rate, noise * 10 ** (level / 20) / peak * rng.choice([-1, 1]))
    order = np.argsort(times)
    samples = (place.gain * total).astype(np.float32)
    return Take(samples, np.array(times)[order], levels[order], turns)


def ringing(place: Room, seed: int, seconds: float = 3.0) -> Take:
    """Strings that were plucked before the take and never muted."""
    rng = np.random.default_rng([seed, 5])
    total, high = background(place, seed * 7 + 4, seconds)
    time = np.arange(len(total)) / place.rate
    for pitch in rng.choice([82.4, 110.0, 146.8, 196.0, 246.9, 329.6], 4, replace=False):
        for n in range(1, 60):
            frequency = pitch * n * np.sqrt(1 + 8e-5 * n**2)
            if frequency < 0.45 * place.rate:
                fall = np.exp(-time * (0.4 + n * 0.03))
                total += 6 * high / n * fall * np.cos(2 * np.pi * frequency * time)
    for start in rng.uniform(0.2, seconds - 0.2, 8):  # a nail on a string
        add(total, event_shape(rng, place.rate), start, place.rate, 60 * high)
    return Take((place.gain * total).astype(np.float32), np.empty(0), np.empty(0), [])


def matched(found: Floats, truth: Floats, within: float = 0.003) -> tuple[int, int, int]:
    """How many events were found, missed, and found where there was none."""
    left = list(found)
    hits = 0
    for at in truth:
        near = [one for one in left if abs(one - at) <= within]
        if near:
            left.remove(min(near, key=lambda one: abs(one - at)))
            hits += 1
    return hits, len(truth) - hits, len(left)
