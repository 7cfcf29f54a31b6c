"""Accuracy of the pitch engine on simulated notes of fresh seeds.

``python benchmarks/pitch_accuracy.py --notes 480 --first 5000`` prints one table; ``make bench``
runs fewer. Six strings, open and 12th fret, 20/40/60 dB, 44.1 and 48 kHz, hum of 50 or 60 Hz, two
polarisations. Figures are 'on simulated notes'; ``pitch_real_notes.py`` looks at recorded ones.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.plucked_string import STRINGS, Note, draw, pluck
from heelstamp.acoustics import NotePitch, pitch, string_intonation
from heelstamp.acoustics.intonation import b_at_fret
from results import Result, write_table

SECONDS = 3.0
GROSS_CENTS = 50.0


def notes(count: int, first: int, **given: float) -> Iterator[Note]:
    """Draw notes, strings and frets in turn."""
    for place in range(count):
        rng = np.random.default_rng(first + place)
        yield draw(
            rng,
            fret=12 * (place // len(STRINGS) % 2),
            string=list(STRINGS)[place % len(STRINGS)],
            seconds=SECONDS,
            **given,
        )


def error(found: NotePitch, note: Note) -> float:
    """Measured above true pitch in cents; infinite for a refused note."""
    return float(1200 * np.log2(found.f1_hz / note.f1)) if found.f1_hz else float("inf")


def plain(count: int, first: int) -> Iterator[Result]:
    """Measure notes without a glide: error, intervals, speed."""
    off, inside, inside_b, spent, sound = [], [], [], 0.0, 0.0
    for note in notes(count, first):
        begun = time.process_time()
        found = pitch(note.samples, note.rate)
        spent += time.process_time() - begun
        sound += len(note.samples) / note.rate
        off.append(error(found, note))
        if found.cents_90 and found.b_90 and found.cents is not None:
            low, high = found.cents_90
            inside.append(low <= found.cents - off[-1] <= high)
            inside_b.append(found.b_90[0] <= note.b <= found.b_90[1])
    size = np.abs(off)
    told = f"{count} simulated notes"
    yield Result("pitch: median error", float(np.median(size)), "cent", ("at most", 0.03), told)
    yield Result(
        "pitch: 95 % of errors below",
        float(np.quantile(size, 0.95)),
        "cent",
        ("at most", 0.10),
        told,
    )
    yield Result(
        "pitch: gross errors and refusals",
        float((size > GROSS_CENTS).sum()),
        "notes",
        ("at most", 0),
        told,
    )
    yield Result(
        "pitch: 90 % intervals that hold f1",
        100 * float(np.mean(inside)),
        "%",
        ("at least", 85),
        "85 to 95 meant",
    )
    yield Result(
        "pitch: 90 % intervals that hold B",
        100 * float(np.mean(inside_b)),
        "%",
        ("at least", 85),
        "85 to 95 meant",
    )
    yield Result(
        "pitch: speed",
        sound / spent,
        "× real time",
        ("at least", 300),
        f"{1e3 * spent / count:.1f} ms a note, one core",
    )


def gliding(count: int, first: int) -> Result:
    """Measure the settled pitch of notes that glide by 1 to 8 cents."""
    off = []
    for place, cents in enumerate(np.linspace(1.0, 8.0, count)):
        (note,) = notes(
            1, first + place, glide_cents=float(cents), glide_s=0.15 + 0.05 * (place % 8)
        )
        off.append(abs(error(pitch(note.samples, note.rate), note)))
    return Result(
        "pitch: median error with a glide",
        float(np.median(off)),
        "cent",
        ("at most", 0.3),
        f"{count} notes, glides of 1 to 8 cents",
    )


def twelfths(count: int, first: int) -> Result:
    """Measure the 12th fret against the open string, both of one simulated string."""
    off = []
    for place in range(count):
        rng = np.random.default_rng(first + place)
        b, f0 = np.exp(rng.uniform(np.log(1e-5), np.log(7.5e-5))), list(STRINGS.values())[place % 6]
        sharp, snr_db = rng.uniform(-10, 10), float(rng.choice([20, 40, 60]))
        low, high = (
            pitch(
                pluck(
                    rng,
                    f0=f0 * 2 ** (fret / 12 + tune / 1200),
                    b=b_at_fret(b, fret),
                    seconds=SECONDS,
                    snr_db=snr_db,
                ),
                44100,
            )
            for fret, tune in ((0, 0.0), (12, sharp))
        )
        truth = sharp + 600 * np.log2((1 + b_at_fret(b, 12)) / (1 + b))
        off.append(abs(string_intonation(1, low, high).cents - truth))
    return Result(
        "pitch: 12th − open, 95 % of errors below",
        float(np.quantile(off, 0.95)),
        "cent",
        ("at most", 0.15),
        f"{count} simulated strings",
    )


def measure(count: int = 96, first: int = 710_000) -> Iterator[Result]:
    """Measure everything; *count* notes and a quarter of it of glides and of strings."""
    yield from plain(count, first)
    yield gliding(max(count // 4, 8), first + 10_000_000)
    yield twelfths(max(count // 4, 6), first + 20_000_000)


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--notes", type=int, default=480)
    asked.add_argument("--first", type=int, default=810_000)
    given = asked.parse_args()
    print(write_table(list(measure(given.notes, given.first))))


if __name__ == "__main__":
    main()
