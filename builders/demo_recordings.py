"""Make the recordings of the demonstration: the tone pot at rest and swept, before and after.

    python builders/demo_recordings.py [--check]

Everything is computed from a fixed seed: hiss, hum of 60 Hz, the rustle of a track, and crackle at
the same bad places of the track in every sweep, to and fro. Mono, 16 bits, 44.1 kHz, FLAC. Another
encoder may write other bytes for the same sound, so ``--check`` compares samples.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from demo.takes import TAKES, Take

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "src" / "heelstamp" / "reference" / "demo" / "recordings"
RATE = 44_100
SEED = 19_650_619
HISS = 6.0  # codes of 16 bits, root mean square
RUSTLE_DB = 4.0
LONGEST_EVENT_S = 0.003
Floats = NDArray[np.float64]


def take_samples(take: Take, number: int) -> NDArray[np.int16]:
    """Compute one take."""
    rng = np.random.default_rng([SEED, number])
    count = round(take.seconds * RATE)
    time = np.arange(count) / RATE
    sound = HISS * rng.normal(size=count)
    for k, size in ((1, 12.0), (2, 5.0), (3, 6.0), (5, 3.0), (7, 1.5)):
        sound += size * np.sin(2 * np.pi * 60.0 * k * time + rng.uniform(0, 6.3))
    # the same bad places each time the wiper passes: shares of the turn, and how loud each is
    bad = np.random.default_rng([SEED, 99])
    places = 0.03 + 0.94 * (np.arange(take.places) + bad.uniform(0.2, 0.8, take.places)) / max(
        1, take.places
    )
    levels = bad.uniform(22.0, 38.0, take.places)
    for sweep, (start, end) in enumerate(take.turns()):
        inside = (time >= start) & (time < end)
        rustle = HISS * np.sqrt(10 ** (RUSTLE_DB / 10) - 1)
        sound[inside] += rustle * rng.normal(size=int(inside.sum()))
        for place, level in zip(places, levels, strict=True):
            share = place if sweep % 2 == 0 else 1.0 - place
            at = round((start + share * (end - start)) * RATE)
            shape = event(rng)
            size = HISS * 10 ** ((RUSTLE_DB + level + rng.normal(0, 1)) / 20)
            sound[at : at + len(shape)] += size * shape
    return np.clip(np.rint(sound), -32_768, 32_767).astype(np.int16)


def event(rng: np.random.Generator) -> Floats:
    """One crackle with a peak of 1: a jump of the contact, or a short burst."""
    time = np.arange(round(LONGEST_EVENT_S * RATE)) / RATE
    fall = np.exp(-time / rng.uniform(0.0001, 0.0006))
    shape = fall * (rng.normal(size=len(time)) if rng.uniform() < 0.5 else 1.0)
    return np.asarray(shape / np.abs(shape).max() * rng.choice([-1.0, 1.0]))


def main(arguments: list[str]) -> int:
    """Write, or with ``--check`` compare; return a process exit code."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare only; 1 when out of date")
    check = parser.parse_args(arguments).check
    stale = 0
    for number, take in enumerate(TAKES):
        path, samples = FOLDER / take.name, take_samples(take, number)
        if path.exists():
            kept, rate = soundfile.read(path, dtype="int16")
            if rate == RATE and np.array_equal(kept, samples):
                continue
        stale += 1
        if not check:
            FOLDER.mkdir(parents=True, exist_ok=True)
            soundfile.write(path, samples, RATE, subtype="PCM_16", format="FLAC")
        print(f"{'out of date' if check else 'written'}: {path.relative_to(ROOT)}")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
