"""The pitch engine on recorded notes whose key and fine tuning a sound font's headers state.

``python benchmarks/pitch_real_notes.py [FILE.sf2] [--each]``. The recordings are those of the
Debian package musescore-general-soundfont-lossless (MIT licence, parts CC0); only the part before
the loop is used; the real pitch is the key less the correction. Labels are whole cents set by ear
on a looped stretch, so a cent of disagreement is what can be hoped for. Without the file it says
how to get it.
"""

from __future__ import annotations

import logging
import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics import NotePitch, pitch
from heelstamp.acoustics.intonation import b_at_fret
from heelstamp.acoustics.notes import cents, hz_of
from results import Result, write_table

NAMED = "HEELSTAMP_SOUNDFONT"
INSTALLED = Path("/usr/share/sounds/sf2/MuseScore_General_Full.sf2")
HOW = (
    "apt-get download musescore-general-soundfont-lossless; dpkg -x *.deb FOLDER; set "
    f"{NAMED}=FOLDER/usr/share/sounds/sf2/MuseScore_General_Full.sf2"
)
FAMILIES = (
    ("clean electric", "Clean F"),
    ("jazz electric", "Jazz Guitar"),
    ("finger bass", "Finger Bass"),
    ("picked bass", "Picked Bass"),
    ("steel acoustic", "Steel "),
)
OTHER = (
    ("nylon acoustic", "Nylon "),
    ("slap and pop bass", ("Slap Bass", "Pop E", "Pop G", "Pop D", "Pop A")),
    ("banjo", "Banjo "),
    ("harp", "Harp "),
)
"""Plucked strings on which nothing was set, for the consistency alone."""
BEGINNING_S, WHOLE_S = 1.1, 1.6
DIFFICULT = (("palm-muted", "PalmMuted"), ("distorted", "Distortion"))
ONE_STRING = {"Clean F65": 5, "Clean F67": 7, "Clean F612": 12, "Clean F615": 15}
"""Notes of the clean electric guitar whose names say string 6 (the treble one) and fret."""
LEAST_S = 0.3


@dataclass(frozen=True)
class Recorded:
    """One recorded note with its label."""

    name: str
    hz: float
    rate: int
    samples: NDArray[np.float32]


def soundfont(given: str | None = None) -> Path | None:
    """The file, or None when there is none."""
    path = Path(given or os.environ.get(NAMED) or INSTALLED)
    return path if path.is_file() else None


def recorded(path: Path, wanted: tuple[str, ...]) -> list[Recorded]:
    """Read the notes whose names begin as wanted."""
    from sf2utils.sf2parse import Sf2File

    logging.getLogger().setLevel(logging.ERROR)
    found = []
    with path.open("rb") as file:
        for sample in Sf2File(file).samples:
            name = getattr(sample, "name", "")
            if not name.startswith(wanted) or name.startswith(("Steel Drum", "Steel Gtr")):
                continue
            raw = np.frombuffer(sample.raw_sample_data, dtype="<i2")[: sample.start_loop]
            if len(raw) < LEAST_S * sample.sample_rate:
                continue
            hz = hz_of(sample.original_pitch - sample.pitch_correction / 100.0)
            samples = raw.astype(np.float32) / 32768
            found.append(Recorded(name, hz, sample.sample_rate, samples))
    return found


def consistency(path: Path, families: tuple[tuple[str, Any], ...], what: str) -> Iterator[Result]:
    """How often the first 1.1 s agree with the whole, within the joint 90 % interval."""
    settled, later, apart, refused = [], [], [], 0
    for _, prefix in families:
        for note in recorded(path, (prefix,) if isinstance(prefix, str) else prefix):
            if len(note.samples) < WHOLE_S * note.rate:
                continue
            both = [
                pitch(part, note.rate)
                for part in (note.samples[: int(BEGINNING_S * note.rate)], note.samples)
            ]
            if not all(one.measured for one in both) or both[0].midi != both[1].midi:
                refused += 1
                continue
            for kept, field in ((settled, "cents"), (later, "later_cents")):
                off = abs(getattr(both[0], field) - getattr(both[1], field))
                half = [one.quantile * getattr(one, f"{field}_sigma") for one in both]
                kept.append(off <= np.hypot(*half))
            apart.append(off)
    told_of = f"{len(settled)} notes, {refused} refused in one of the two; apart at 1 s: " + (
        f"median {np.median(apart):.2f}, most {max(apart):.1f} cents" if apart else "none"
    )
    for kept, when in ((settled, "settled"), (later, "1 s after the pluck")):
        yield Result(
            f"recorded notes, {what}: first {BEGINNING_S} s agree with the whole, {when}",
            100 * float(np.mean(kept)) if kept else None,
            "%",
            ("at least", 85),
            told_of,
        )


def told(note: Recorded, found: NotePitch) -> str:
    """One line about one note."""
    if found.f1_hz is None or found.cents_sigma is None or found.b is None:
        return f"  {note.name:20} refused: {found.reasons[0].found} ({found.reasons[0].code})"
    used = sum(partial.used for partial in found.partials)
    return (
        f"  {note.name:20} {found.f1_hz:9.3f} Hz  {cents(found.f1_hz, note.hz):+6.2f} cents from "
        f"the label, ± {found.quantile * found.cents_sigma:.2f}; B {found.b:.2e}, {used} partials"
    )


def measure(given: str | None = None, *, each: bool = False) -> Iterator[Result]:
    """Measure every family; with *each* print every note."""
    path = soundfont(given)
    if path is None:
        yield Result("recorded notes", None, "", beside=HOW)
        return
    every: list[float] = []
    stiff: dict[int, float] = {}
    for family, prefix in (*FAMILIES, *DIFFICULT):
        off, refused = [], 0
        for note in recorded(path, (prefix,)):
            found = pitch(note.samples, note.rate)
            if each:
                print(told(note, found))
            if found.f1_hz is None:
                refused += 1
                continue
            off.append(abs(cents(found.f1_hz, note.hz)))
            if note.name in ONE_STRING and found.b is not None:
                stiff[ONE_STRING[note.name]] = found.b
        easy = prefix not in {name for _, name in DIFFICULT}
        every += off if easy else []
        yield Result(
            f"recorded notes, {family}: median from label",
            float(np.median(off)) if off else None,
            "cent",
            beside=f"{len(off)} measured, {refused} refused",
        )
    yield from consistency(path, FAMILIES, "the families above")
    yield from consistency(path, OTHER, "other plucked strings")
    yield Result(
        "recorded notes: median from label",
        float(np.median(every)),
        "cent",
        ("at most", 1.5),
        f"{len(every)} notes, muted and distorted left out",
    )
    if len(stiff) == len(ONE_STRING):
        ratios = np.array([b / b_at_fret(1.0, fret) for fret, b in stiff.items()])
        worst = float(np.abs(ratios / ratios.mean() - 1.0).max())
        yield Result(
            "recorded notes: B of one string about 2^(fret/6)",
            100 * worst,
            "%",
            ("at most", 10),
            "worst of frets 5, 7, 12, 15 about their mean",
        )


if __name__ == "__main__":
    arguments = [one for one in sys.argv[1:] if one != "--each"]
    results = measure(arguments[0] if arguments else None, each="--each" in sys.argv)
    print(write_table(list(results)))
