"""The pitch engine beside pitch trackers, on the same simulated notes in the same run.

Each peer is tuned in its favour: told the note to within four semitones, given long frames and a
fine grid, and judged by the median over the settled two seconds. Charged is CPU time for a note of
three seconds, one core; compilation and first calls are not. Peers that are not installed are
named.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.plucked_string import Note
from heelstamp.acoustics import pitch
from pitch_accuracy import notes
from results import Bound, Result, write_table

COUNT, FIRST = 24, 990_000
SETTLED = (0.4, 2.4)
"""Seconds in the recording: 0.2 to 2.2 s after the pluck."""
RANGE = 2.0 ** (4 / 12)

Samples = NDArray[np.float64]
Peer = Callable[[Samples, int, float], float]


def ours(samples: Samples, rate: int, expected: float) -> float:
    del expected
    return pitch(samples, rate).f1_hz or float("nan")


def _frame(rate: int, expected: float) -> int:
    """A power of two that holds some eight periods."""
    return int(2 ** np.ceil(np.log2(8 * rate / expected)))


def yin(samples: Samples, rate: int, expected: float) -> float:
    import librosa

    frame = max(4096, _frame(rate, expected))
    track = librosa.yin(
        samples,
        fmin=expected / RANGE,
        fmax=expected * RANGE,
        sr=rate,
        frame_length=frame,
        hop_length=512,
    )
    return float(np.median(track))


def pyin(samples: Samples, rate: int, expected: float) -> float:
    import librosa

    frame = max(4096, _frame(rate, expected))
    track, voiced, _ = librosa.pyin(
        samples,
        fmin=expected / RANGE,
        fmax=expected * RANGE,
        sr=rate,
        frame_length=frame,
        hop_length=1024,
        resolution=0.01,
        n_thresholds=50,
        max_transition_rate=10.0,  # a steady note; wider ones do not fit the range
    )
    kept = track[voiced]
    return float(np.median(kept)) if len(kept) else float("nan")


def praat(samples: Samples, rate: int, expected: float) -> float:
    import parselmouth

    sound = parselmouth.Sound(samples, sampling_frequency=rate)
    track = sound.to_pitch_ac(
        time_step=0.02,
        pitch_floor=expected / RANGE / 2,
        pitch_ceiling=expected * RANGE,
        very_accurate=True,
    )
    heard = track.selected_array["frequency"]
    return float(np.median(heard[heard > 0])) if (heard > 0).any() else float("nan")


def harvest(samples: Samples, rate: int, expected: float) -> float:
    import pyworld

    rough, t = pyworld.harvest(
        samples, rate, f0_floor=expected / RANGE, f0_ceil=expected * RANGE, frame_period=10.0
    )
    track = pyworld.stonemask(samples, rough, t, rate)
    return float(np.median(track[track > 0])) if (track > 0).any() else float("nan")


def yinfast(samples: Samples, rate: int, expected: float) -> float:
    import aubio

    size, hop = max(4096, _frame(rate, expected)), 512
    tracker = aubio.pitch("yinfast", size, hop, rate)
    tracker.set_unit("Hz")
    heard = [
        float(tracker(samples[at : at + hop].astype(np.float32))[0])
        for at in range(0, len(samples) - hop, hop)
    ]
    near = [hz for hz in heard[size // hop :] if expected / RANGE < hz < expected * RANGE]
    return float(np.median(near)) if near else float("nan")


PEERS: tuple[tuple[str, str, Peer, float | None], ...] = (
    ("librosa yin", "librosa", yin, 50.0),
    ("librosa pyin", "librosa", pyin, 50.0),
    ("praat autocorrelation", "parselmouth", praat, None),
    ("pyworld harvest + stonemask", "pyworld", harvest, 25.0),
    ("aubio yinfast", "aubio", yinfast, None),
)


def timed(peer: Peer, drawn: list[Note]) -> tuple[float, float]:
    """Median error in cents and CPU seconds a note; a peer is given the settled part alone."""
    off, spent = [], 0.0
    for place, note in enumerate([drawn[0], *drawn]):  # the first note warms up and is not counted
        samples = note.samples.astype(np.float64)
        if peer is not ours:
            samples = samples[int(SETTLED[0] * note.rate) : int(SETTLED[1] * note.rate)]
        begun = time.process_time()
        hz = peer(np.ascontiguousarray(samples), note.rate, note.f0)
        if place:
            spent += time.process_time() - begun
            off.append(abs(1200 * np.log2(hz / note.f1)) if hz == hz else float("inf"))  # noqa: PLR0124
    return float(np.median(off)), spent / len(drawn)


def measure(count: int = COUNT) -> Iterator[Result]:
    """Measure ourselves and every peer that is installed."""
    drawn = list(notes(count, FIRST))
    error, spent = timed(ours, drawn)
    yield Result(
        "pitch, fitted string: median error",
        error,
        "cent",
        beside=f"{1e3 * spent:.1f} ms a note, {count} notes",
    )
    at_least: Bound = "at least"
    for name, module, peer, times in PEERS:
        if importlib.util.find_spec(module) is None:
            yield Result(f"pitch, {name}", None, "", beside=f"{module} is not installed")
            continue
        try:
            theirs, took = timed(peer, drawn)
        except ImportError as error:
            yield Result(f"pitch, {name}", None, "", beside=f"{module} does not start: {error}")
            continue
        goal = None if times is None else (at_least, times)
        yield Result(
            f"pitch, {name}: error over ours", theirs / error, "×", goal, f"{theirs:.2f} cent"
        )
        yield Result(
            f"pitch, {name}: time over ours",
            took / spent,
            "×",
            (at_least, 1.0),
            f"{1e3 * took:.1f} ms a note",
        )


if __name__ == "__main__":
    print(write_table(list(measure())))
