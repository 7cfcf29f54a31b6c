"""Plucked notes whose pitch is known: a stiff string under a pickup, with what troubles it.

Partials follow f_n = n f0 sqrt(1 + B n²) [fletcher_rossing_1998, 2.18] and decay the faster the
higher they are; pluck and pickup each leave a comb. Every partial has a second polarisation,
weaker, faster decaying and split by the same ratio of frequency (two effective lengths). Beside it:
a burst of the pick, mains hum with harmonics, white noise, a glide of pitch common to all partials,
and a scatter of single partials such as a body causes. Truth is f1 of the stronger polarisation
when it has settled. Levels and decays are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

STRINGS = {
    "E2": 82.4069,
    "A2": 110.0,
    "D3": 146.8324,
    "G3": 195.9977,
    "B3": 246.9417,
    "E4": 329.6276,
}


@dataclass(frozen=True)
class Note:
    """A simulated note and the truth about it."""

    samples: np.ndarray
    rate: int
    f1: float
    f0: float
    b: float
    glide_cents: float
    name: str
    snr_db: float


def pluck(
    rng: np.random.Generator,
    *,
    f0: float,
    b: float,
    rate: int = 44100,
    seconds: float = 3.0,
    silence: float = 0.2,
    snr_db: float = 60.0,
    hum_db: float = -45.0,
    mains: float = 50.0,
    glide_cents: float = 0.0,
    glide_s: float = 0.3,
    pick: float | None = None,
    pickup: float | None = None,
    second: float | None = None,
    split_cents: float | None = None,
    scatter_cents: float = 0.02,
    decay_s: float | None = None,
    peak: float = 0.5,
) -> np.ndarray:
    """Samples of one note; unset properties are drawn."""
    pick = rng.uniform(0.08, 0.3) if pick is None else pick
    pickup = rng.uniform(0.06, 0.26) if pickup is None else pickup
    second = rng.uniform(0.05, 0.3) if second is None else second
    if split_cents is None:
        split_cents = rng.choice([-1.0, 1.0]) * np.exp(rng.uniform(np.log(0.05), np.log(4.0)))
    decay_s = rng.uniform(1.5, 5.0) if decay_s is None else decay_s
    count = int(seconds * rate)
    t = np.arange(count) / rate
    glided = 2 ** (glide_cents / 1200) - 1
    warped = t + glided * glide_s * (1 - np.exp(-t / glide_s))
    sound = np.zeros(count)
    for n in range(1, 80):
        hz = n * f0 * np.sqrt(1 + b * n * n) * 2 ** (rng.normal(0, scatter_cents) / 1200)
        if hz > min(0.45 * rate, 9000.0):
            break
        level = abs(np.sin(n * np.pi * pick) * np.sin(n * np.pi * pickup)) / n
        level /= np.hypot(1 - (hz / 4000) ** 2, hz / 4000 / 2.0)
        rate_of_decay = (1 + (hz / 1200) ** 2) / decay_s * np.exp(rng.normal(0, 0.2))
        last = min(count, int(14 / rate_of_decay * rate) + 1)
        for part, tune, quicker in ((1.0, 0.0, 1.0), (second, split_cents, rng.uniform(1.1, 2.5))):
            phase = 2 * np.pi * hz * 2 ** (tune / 1200) * warped[:last]
            start = rng.normal(0, 0.2) + (np.pi if rng.random() < 0.5 and part < 1 else 0)
            envelope = np.exp(-rate_of_decay * quicker * t[:last])
            sound[:last] += part * level * envelope * np.cos(phase + start)
    return dressed(
        rng, sound, rate, silence=silence, snr_db=snr_db, hum_db=hum_db, mains=mains, peak=peak
    )


def dressed(
    rng: np.random.Generator,
    sound: np.ndarray,
    rate: int,
    *,
    silence: float,
    snr_db: float,
    hum_db: float,
    mains: float,
    peak: float,
) -> np.ndarray:
    """Add the pick's burst, silence before, hum and noise, in relation to the first two seconds."""
    strength = np.sqrt(np.mean(sound[: 2 * rate] ** 2))
    burst = min(len(sound), int(0.012 * rate))
    fading = np.exp(-np.arange(burst) / (0.003 * rate))
    sound[:burst] += rng.normal(0, strength, burst) * fading
    lead = int(silence * rate)
    whole = np.concatenate([np.zeros(lead), sound])
    t = np.arange(len(whole)) / rate
    true_mains = mains + rng.normal(0, 0.02)
    for k in range(1, 16):
        level = strength * 10 ** (hum_db / 20) * np.sqrt(2) / k ** rng.uniform(0.3, 1.2)
        whole += level * np.cos(2 * np.pi * k * true_mains * t + rng.uniform(0, 2 * np.pi))
    whole += rng.normal(0, strength * 10 ** (-snr_db / 20), len(whole))
    return peak * whole / np.abs(whole).max()


def draw(rng: np.random.Generator, *, fret: int, string: str, **given: float) -> Note:
    """Draw one note of a string, up to 30 cents off its pitch."""
    fixed = dict(given)
    b_open = fixed.pop("b_open", None) or np.exp(rng.uniform(np.log(1e-5), np.log(7.5e-5)))
    b = b_open * 2 ** (fret / 6)
    f0 = STRINGS[string] * 2 ** ((fret + rng.uniform(-0.3, 0.3)) / 12)
    rate = int(fixed.pop("rate", 0) or rng.choice([44100, 48000]))
    snr_db = float(fixed.pop("snr_db", 0) or rng.choice([20.0, 40.0, 60.0]))
    mains = float(fixed.pop("mains", 0) or rng.choice([50.0, 60.0]))
    hum_db = float(fixed.pop("hum_db", 0) or rng.uniform(-60, -35))
    samples = pluck(rng, f0=f0, b=b, rate=rate, snr_db=snr_db, mains=mains, hum_db=hum_db, **fixed)
    name = string if fret == 0 else f"{string[0]}{int(string[1]) + fret // 12}"
    return Note(
        samples.astype(np.float32),
        rate,
        f0 * np.sqrt(1 + b),
        f0,
        b,
        float(fixed.get("glide_cents", 0.0)),
        name,
        snr_db,
    )
