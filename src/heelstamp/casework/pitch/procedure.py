"""Measuring recorded notes: decoded through a port, measured by the engine, kept with a digest.

Nothing is read from or written to a disk here; the recordings themselves are never altered. The
digest is that of everything the answer depends on: file, channel, named note, program version.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, Protocol

from heelstamp import __version__
from heelstamp.acoustics import Recording, pair_up, pitch, string_intonation
from heelstamp.archive import digest_of, sha256
from heelstamp.casework.pitch.finding import IntonationFinding, PitchFinding
from heelstamp.casework.ports import NamedFile

Channel = int | Literal["mix"] | None


class ReadsSound(Protocol):
    """Decodes a recording to one channel."""

    def __call__(self, data: bytes, name: str, *, channel: Channel = None) -> Recording:
        """Samples relative to full scale.

        Raises
        ------
        InputError
            Not a recording of a known kind, broken, too long, or without that channel.
        """
        ...


def measure_pitch(
    sound: NamedFile, *, read: ReadsSound, note: str | None = None, channel: Channel = None
) -> PitchFinding:
    """Measure the note of one recording.

    Parameters
    ----------
    read
        Decoder of recordings.
    note
        Name of the note that was played; found when None.
    channel
        Counted from 1, or "mix"; the strongest when None.

    Raises
    ------
    InputError
        The recording cannot be decoded, or the note has no such name.
    """
    recording = read(sound.data, sound.name, channel=channel)
    inputs = {"sound": sha256(sound.data), "note": note, "channel": channel, "program": __version__}
    return PitchFinding(
        recording, pitch(recording.samples, recording.rate_hz, note=note), digest_of(inputs)
    )


def intonation_of(findings: Sequence[PitchFinding]) -> tuple[IntonationFinding, ...]:
    """The table of intonation: every open string that has its twelfth fret beside it.

    Strings are numbered from the highest open note, 1 for the treble string.
    """
    pairs = pair_up([one.pitch for one in findings])
    return tuple(
        IntonationFinding(
            string_intonation(number, findings[low].pitch, findings[high].pitch),
            findings[low].recording.name,
            findings[high].recording.name,
        )
        for number, (low, high) in enumerate(pairs, start=1)
    )
